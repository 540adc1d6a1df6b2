"""A shop's coupons: kept, changed, stopped, asked for, used and given back.

A document that names a coupon is checked when it is calculated; what a quote offers then holds as
long as the quote does, also if the coupon is stopped or over meanwhile. Only its uses are counted
again when the quote is accepted.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime

from schemas.prices.coupons import CouponRecord
from service.app.keys.access import Principal
from service.app.keys.actor import Actor, Planner, VersionCheck, noted
from service.domain.errors import BadValue, Fault, JobRefused, NotFound
from service.domain.jobs.job import Conditions
from service.domain.prices.coupons import Coupon, folded_code
from service.domain.quotes.life import QuoteRequest
from service.persistence.unit_of_work import UnitOfWork, UnitsOfWork

SUBJECT = "coupon"
PLACE = "/coupon"


def for_coupon(
    asked: QuoteRequest,
    units: UnitsOfWork,
    principal: Principal,
    day: date,
    currency: str,
    quote_id: str = "",
) -> QuoteRequest:
    """Return a request with the coupon that it names, if any, as its last discount.

    The coupon that the quote itself has used already is not checked again, but for the currency.

    Raises:
        JobRefused: there is no such coupon, it is not taken on that day or in that currency, or it
            is used up.
    """
    code = folded_code(asked.coupon)
    if not code:
        return asked
    with units.reading() as uow:
        record = _known(uow, principal.shop_id, code)
        _check_currency(record.coupon, currency)
        if not quote_id or uow.coupons.used_for(quote_id) != code:
            _check_day(record, day)
            _check_uses(uow, principal.shop_id, record, asked.customer.id)
    conditions = asked.conditions
    discounts = (*conditions.discounts, record.coupon.discount())
    return replace(asked, conditions=replace(conditions, discounts=discounts))


def _known(uow: UnitOfWork, shop_id: str, code: str) -> CouponRecord:
    try:
        return uow.coupons.by_code(shop_id, code)
    except NotFound as missing:
        raise _refused("unknown_coupon", missing.message) from None


def _check_day(record: CouponRecord, day: date) -> None:
    coupon = record.coupon
    if record.stopped_at is not None:
        raise _refused("coupon_not_valid", f"the coupon {coupon.code} is not taken any more")
    if told := coupon.not_on(day):
        raise _refused("coupon_not_valid", told)


def _check_currency(coupon: Coupon, currency: str) -> None:
    if coupon.currency not in (None, currency):
        told = f"the coupon {coupon.code} is for prices in {coupon.currency}, not in {currency}"
        raise _refused("coupon_not_valid", told)


def _check_uses(uow: UnitOfWork, shop_id: str, record: CouponRecord, customer_id: str) -> None:
    coupon = record.coupon
    if coupon.most_uses is not None and record.uses >= coupon.most_uses:
        raise _refused("coupon_used_up", f"the coupon {coupon.code} is used up")
    most = coupon.most_uses_each
    if most and customer_id and uow.coupons.uses_by(shop_id, coupon.code, customer_id) >= most:
        told = f"the customer has had the coupon {coupon.code} as often as one may ({most})"
        raise _refused("coupon_used_up", told)


def _refused(code: str, told: str) -> JobRefused:
    return JobRefused([Fault(PLACE, code, told)])


def coupon_of(conditions: Conditions) -> str:
    """Return the code of a document's coupon; "" for none."""
    return next((each.coupon for each in conditions.discounts if each.coupon), "")


def count_use(uow: UnitOfWork, actor: Actor, quote_id: str, code: str) -> None:
    """Have a quote use the coupon of this code, or none for "", and no other; the caller commits.

    Raises:
        Conflict: it is used up.
    """
    if uow.coupons.used_for(quote_id) == code:
        return
    give_back(uow, actor, quote_id)
    if code:
        uow.coupons.use(actor.principal.shop_id, code, quote_id, actor.now)
        noted(uow, actor, "coupon.used", SUBJECT, code, quote=quote_id)


def give_back(uow: UnitOfWork, actor: Actor, quote_id: str) -> None:
    """Take back the use of a coupon by a quote, if it used one; the caller commits."""
    code = uow.coupons.give_back(actor.principal.shop_id, quote_id, actor.now)
    if code:
        noted(uow, actor, "coupon.given_back", SUBJECT, code, quote=quote_id)


def create_coupon(uow: UnitOfWork, by: Planner, coupon: Coupon) -> CouponRecord:
    """Store a new coupon; the caller commits.

    Raises:
        Conflict: the shop has one of this code.
    """
    record = CouponRecord(coupon, by.now, by.now)
    uow.coupons.add(by.shop_id, record)
    noted(uow, by, "coupon.created", SUBJECT, coupon.code)
    return record


def change_coupon(
    uow: UnitOfWork, by: Planner, code: str, coupon: Coupon, check: VersionCheck
) -> CouponRecord:
    """Replace a coupon; stored quotes keep what they say. The caller commits.

    Raises:
        NotFound: the shop has no coupon of this code.
        Stale: it has changed since it was seen.
        BadValue: the document has another code.
    """
    was = uow.coupons.by_code(by.shop_id, folded_code(code))
    check(was.version)
    if coupon.code != was.coupon.code:
        raise BadValue(f"this is the coupon {was.coupon.code}; another code is another", "/code")
    return _changed(uow, by, was, replace(was, coupon=coupon), "coupon.changed")


def stop_coupon(uow: UnitOfWork, by: Planner, code: str, check: VersionCheck) -> CouponRecord:
    """Take a coupon no more; stopping it again changes nothing. The caller commits.

    Raises:
        NotFound: the shop has no coupon of this code.
        Stale: it has changed since it was seen.
    """
    was = uow.coupons.by_code(by.shop_id, folded_code(code))
    check(was.version)
    if was.stopped_at is not None:
        return was
    return _changed(uow, by, was, replace(was, stopped_at=by.now), "coupon.stopped")


def _changed(
    uow: UnitOfWork, by: Planner, was: CouponRecord, now: CouponRecord, kind: str
) -> CouponRecord:
    at: datetime = max(by.now, was.updated_at)
    now = replace(now, updated_at=at, version=was.version + 1)
    uow.coupons.change(by.shop_id, was, now)
    noted(uow, by, kind, SUBJECT, was.coupon.code, version=now.version)
    return now
