"""One job of a stored answer as the domain's: its sizes, cut list, material, time and lines."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from fractions import Fraction
from math import lcm
from typing import Any, cast

from schemas.quotes.figures.answered_sizes import size_told, sizes_told
from schemas.wire.figures import number, rate_text, ratio
from schemas.wire.lengths import exact_length
from service.domain.errors import JobRefused
from service.domain.estimates.calculation import Basis, JobEstimate, all_drivers, all_uses
from service.domain.jobs.advice.advisory import Advisory
from service.domain.jobs.assembly import assembled_before
from service.domain.jobs.cut_list import Piece
from service.domain.jobs.hanging import Hung, hanging
from service.domain.jobs.job import Job, JobSpec
from service.domain.jobs.mat import Window
from service.domain.jobs.sizes import Sizes
from service.domain.jobs.use import NONE, Use
from service.domain.jobs.weight import weight_mg
from service.domain.labour.standard import Operation, OperationTime, Scaled, bench_time
from service.domain.materials.catalogue import Catalogue, Consumable, Hardware
from service.domain.measure.length import Length
from service.domain.measure.rounding import exact_sum, half_up
from service.domain.measure.units import MG_PER_KG
from service.domain.prices.discounts import Reduction
from service.domain.prices.fees import price_fees
from service.domain.prices.lines import Line, Slice, price_labour, price_uses
from service.domain.prices.totals import FEE, job_money

Told = Mapping[str, Any]
SUPPLIES = (Hardware, Consumable)
"""Items whose use is chosen by a rule, and not by a size."""


def advisories_told(told: Told, at: int) -> tuple[Advisory, ...]:
    """Return the advisories of a job's answer; `at` is its place in the document."""
    prefix = f"/jobs/{at}"
    return tuple(
        Advisory(
            each["code"],
            each["severity"],
            each["message"],
            _inside(each["path"], prefix),
            each.get("overridden", ""),
        )
        for each in told["advisories"]
    )


def _inside(path: str, prefix: str) -> str:
    return path.removeprefix(prefix)


def job_told(told: Told, spec: JobSpec, basis: Basis, at: int) -> JobEstimate:
    """Return a job as its stored answer tells it."""
    job = assembled_before(spec, basis.shop, basis.catalogue)
    if job is None:
        raise JobRefused([])
    prefix = f"/jobs/{at}"
    pieces = tuple(_piece(row, prefix, basis.catalogue) for row in told["cut_list"])
    sizes = sizes_told(told["sizes"], pieces, job, basis.shop)
    weight = _weight(told["sizes"], job, sizes)
    uses = tuple(_uses(told, job, all_uses(job, sizes, weight, basis), basis))
    times = _times(told["labour"]["operations"], job, sizes, uses, basis)
    minutes = _exactly(told["labour"]["minutes"], exact_sum(time.minutes for time in times))
    lines = _lines(told["lines"], prefix, job, sizes, uses, minutes, basis)
    currency = basis.price_list.currency
    discount = currency.of(told["discount"])
    return JobEstimate(
        job=job,
        sizes=sizes,
        pieces=pieces,
        uses=uses,
        weight_mg=weight,
        times=times,
        minutes=minutes,
        lines=lines,
        subtotal=currency.of(told["subtotal"]),
        percent_off=Fraction(told["percent_off"]),
        discount=discount,
        advisories=advisories_told(told, at),
        reductions=tuple(
            Reduction(given, currency.of(off["base"]), currency.of(off["amount"]))
            for given, off in zip(job.discounts, told.get("discounts", ()), strict=False)
        ),
        left=_left(lines, job, discount.minor, basis),
        hanging=_hanging(told["sizes"].get("hanging")) or hanging(job, sizes.outside, basis.shop),
    )


def _exactly(text: str, value: Fraction) -> Fraction:
    """Return an exact value if it is shown as this text; else the text's own."""
    return value if number(value) == text else Fraction(text)


def _weight(told: Told, job: Job, sizes: Sizes) -> int:
    milligrams, shown = weight_mg(job, sizes), told["weight_kg"]
    if ratio(milligrams, MG_PER_KG, 3) == shown:
        return milligrams
    kilograms = Fraction(shown)
    return half_up(kilograms.numerator * MG_PER_KG, kilograms.denominator)


def _piece(row: Told, prefix: str, catalogue: Catalogue) -> Piece:
    mitre = row.get("mitre_degrees")
    return Piece(
        part=row["part"],
        item=catalogue.items[row["item"]],
        quantity=row["quantity"],
        pointer=_inside(row["path"], prefix),
        size=size_told(row) if "width" in row else None,
        length=exact_length(row["length"]) if "length" in row else None,
        layer=row.get("layer", 0),
        side=row.get("side", ""),
        mitre=None if mitre is None else Fraction(mitre),
        windows=tuple(map(_window, row.get("openings", ()))),
        trim=exact_length(row["trim"]) if "trim" in row else Length(0),
        grooves=tuple(map(_window, row.get("grooves", ()))),
        ruled_lines=tuple(map(_window, row.get("ruled_lines", ()))),
    )


def _window(told: Told) -> Window:
    x, y = exact_length(told["x"]), exact_length(told["y"])
    return Window(cast(Any, told["shape"]), x, y, size_told(told))


def _hanging(told: Told | None) -> Hung | None:
    """Return what an answer tells of hanging; the answers of calculation 1 tell nothing of it."""
    if told is None:
        return None
    names = "ring_drop", "ring_inset", "span", "rise", "wire"
    return Hung(*(exact_length(told[name]) for name in names))


def _uses(told: Told, job: Job, uses: Sequence[Use], basis: Basis) -> Iterator[Use]:
    """Yield the uses of material; of hardware and supplies as much as was answered."""
    used: dict[tuple[str, str], Fraction] = {}
    for use in uses:
        key = use.item.code, use.natural_basis()
        each = use.quantity(key[1], basis.shop.billing)
        used[key] = used.get(key, Fraction(0)) + each * job.quantity
    answered = {
        (row["item"], row["basis"]): row["quantity"]
        for row in told["materials"]
        if isinstance(basis.catalogue.items[row["item"]], SUPPLIES)
    }
    right = {key for key, quantity in answered.items() if number(used.get(key, NONE)) == quantity}
    for use in uses:
        if not isinstance(use.item, SUPPLIES) or (use.item.code, use.natural_basis()) in right:
            yield use
    for key, quantity in answered.items():
        if key not in right:
            yield _supply(told, key, Fraction(quantity) / job.quantity, basis)


def _supply(told: Told, key: tuple[str, str], each: Fraction, basis: Basis) -> Use:
    """Return the use of a supply as it was answered: so much of it, on one basis."""
    code, by = key
    rows = [line for line in told["lines"] if line["item"] == code]
    component = rows[0]["component"] if rows else "finishing"
    item = basis.catalogue.items[code]
    if by == "linear_foot":
        return Use(component, item, "", feet=each)
    if by == "square_foot":
        return Use(component, item, "", area=each)
    return Use(component, item, "", pieces=each)


def _times(
    rows: Sequence[Told], job: Job, sizes: Sizes, uses: tuple[Use, ...], basis: Basis
) -> tuple[OperationTime, ...]:
    standard = basis.standard.for_job(job)
    now = list(bench_time(standard, all_drivers(job, sizes, basis.shop, uses), job.quantity))
    found: list[OperationTime] = []
    for row in rows:
        same = next((time for time in now if _is_timed(time, row)), None)
        if same is not None:
            now.remove(same)
        found.append(same or _timed(row, job.quantity))
    per = lcm(*(time.per for time in found))  # a ticket adds up parts of one denominator
    return tuple(
        OperationTime(
            time.operation, time.hundredths, time.quantity, time.parts * (per // time.per), per
        )
        for time in found
    )


def _is_timed(time: OperationTime, row: Told) -> bool:
    units, minutes = ratio(time.hundredths, 100), ratio(time.parts, time.per)
    told = row["operation"], row["units"], row["minutes"]
    return (time.operation.code, units, minutes) == told


def _timed(row: Told, quantity: int) -> OperationTime:
    """Return the time of an operation as it was answered."""
    told = row["operation"], row["description"], row["driver"]
    set_up, minutes = Fraction(row["set_up_minutes"]), Fraction(row["minutes"])
    rates = Fraction(row["unit_minutes"]), set_up
    factor = row.get("multiplied_by")
    done = Operation(*told, *rates) if factor is None else Scaled(*told, *rates, Fraction(factor))
    per = lcm(set_up.denominator, minutes.denominator)
    return OperationTime(done, int(Fraction(row["units"]) * 100), quantity, int(minutes * per), per)


def _lines(
    rows: Sequence[Told],
    prefix: str,
    job: Job,
    sizes: Sizes,
    uses: tuple[Use, ...],
    minutes: Fraction,
    basis: Basis,
) -> tuple[Line, ...]:
    terms = basis.terms(job.quantity)
    now, _ = price_uses(uses, terms)
    labour = price_labour(minutes, terms)
    now += [labour] if labour else []
    with suppress(JobRefused):  # a fee of its day; it is read from the answer
        now += price_fees(job.fees, sizes.ordered, terms)
    return tuple(_line(row, prefix, now, basis) for row in rows)


def _line(row: Told, prefix: str, now: Sequence[Line], basis: Basis) -> Line:
    """Return a line as it was answered, with the exact quantity and rates where they agree."""
    currency, rules = basis.price_list.currency, basis.price_list.rules
    pointer = _inside(row["path"], prefix)
    rule = next(rule for rule in rules if rule.code == row["rule"])
    same = next((line for line in now if _is_line(line, row, pointer)), None)
    if same is None:
        quantity, rate = Fraction(row["quantity"]), Fraction(row["rate"])
        slices = tuple(
            Slice(Fraction(part["quantity"]), Fraction(part["rate"]))
            for part in row.get("slices", ())
        )
    else:
        quantity, rate, slices = same.quantity, same.rate, same.slices
    return Line(
        component=row["component"],
        item=row["item"] or "",
        description=row["description"],
        rule=rule,
        pointer=pointer,
        layer=row.get("layer", 0),
        basis=row["basis"],
        quantity=quantity,
        rate=rate,
        slices=slices,
        each=currency.of(row["each"]),
        pieces=row["pieces"],
        set_up=currency.of(row.get("set_up", "0")),
        amount=currency.of(row["amount"]),
    )


def _is_line(line: Line, row: Told, pointer: str) -> bool:
    return (
        (line.component, line.item, line.pointer) == (row["component"], row["item"] or "", pointer)
        and (line.rule.code, line.basis) == (row["rule"], row["basis"])
        and (number(line.quantity), rate_text(line.rate)) == (row["quantity"], row["rate"])
    )


def _left(lines: Sequence[Line], job: Job, discount: int, basis: Basis) -> tuple[int, ...]:
    """Return what is left of each line; empty where it is shared in proportion."""
    fees = any(line.component == FEE for line in lines)
    try:
        money = job_money(lines, basis.terms(job.quantity), job.discounts, fees=fees)
    except JobRefused:
        return ()
    return money.left if money.discount.minor == discount else ()
