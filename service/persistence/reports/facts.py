"""Facts for reports, noted in the transaction in which they happen."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import bindparam, insert, update

from schemas.reports.facts import NewSale, NewSpoilage
from service.persistence.reports.tables_reports import sale_materials, sale_parts, sales, spoilages
from service.persistence.sql.session import Session

_TAKEN_BACK = (
    update(sales)
    .where(sales.c.quote_id == bindparam("quote"))
    .values(withdrawn_at=bindparam("at", type_=sales.c.withdrawn_at.type))
)


class SqlFacts:
    """The port `Facts` over SQL."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def sold(self, new: NewSale) -> None:
        """Note a sale."""
        sale, quote = new.sale, {"quote_id": new.quote_id}
        row = {
            **quote,
            "shop_id": new.shop_id,
            "accepted_at": new.accepted_at,
            "currency": sale.total.currency.code,
            "total_minor": sale.total.minor,
            "tax_minor": sale.tax.minor,
            "cost_minor": None if sale.cost is None else sale.cost.minor,
            "cost_currency": sale.own.code,
        }
        connection = self._session.connection
        connection.execute(insert(sales), row)
        parts = [
            {**quote, "component": p.component, "item": p.item, "net_minor": p.net}
            for p in sale.parts
        ]
        if parts:
            connection.execute(insert(sale_parts), parts)
        used = [{**quote, **use._asdict()} for use in sale.materials]
        if used:
            connection.execute(insert(sale_materials), used)

    def taken_back(self, quote_id: str, at: datetime) -> None:
        """Note that a sale was taken back."""
        self._session.connection.execute(_TAKEN_BACK, {"quote": quote_id, "at": at})

    def spoiled(self, new: NewSpoilage) -> None:
        """Note spoiled pieces."""
        row = {column.name: getattr(new, column.name) for column in spoilages.c}
        self._session.connection.execute(insert(spoilages), row)
