"""PostgreSQL: quotes of a shop are stored without waiting for each other.

`change_instant` announces a change before it gets its instant; see
`service/persistence/instants.py` for what readers make of the announcements. The row of the shop's
counter is locked by changes of what is stored, no longer by new quotes.

Revision ID: 0016
Revises: 0015
"""

from __future__ import annotations

from alembic import op

revision = "0016"
down_revision = "0015"
branch_labels = None
depends_on = None

LAST = """
CREATE FUNCTION last_change_instant(shop text) RETURNS timestamptz LANGUAGE sql VOLATILE AS $$
    SELECT greatest(
        (SELECT max(updated_at) FROM quotes WHERE shop_id = shop),
        (SELECT stamped_at FROM counters WHERE shop_id = shop AND series = 'quote')
    )
$$
"""
# The key is 1258 in 12 bits, the shop in 12, and the last instant in 40, in tens of milliseconds.
# The second reading comes after the lock; in a volatile function it sees what was committed then.
INSTANT = """
CREATE FUNCTION change_instant(shop text, at timestamptz) RETURNS timestamptz
LANGUAGE plpgsql VOLATILE AS $$
DECLARE
    known timestamptz := last_change_instant(shop);
BEGIN
    PERFORM pg_advisory_xact_lock_shared(
        (1258::bigint << 52) | ((hashtext(shop) & 4095)::bigint << 40)
        | greatest(floor(extract(epoch FROM coalesce(known, at)) * 100)::bigint, 0)
    );
    RETURN greatest(at, last_change_instant(shop));
END
$$
"""


def upgrade() -> None:
    if op.get_bind().dialect.name == "postgresql":
        op.execute(LAST)
        op.execute(INSTANT)


def downgrade() -> None:
    if op.get_bind().dialect.name == "postgresql":
        op.execute("DROP FUNCTION change_instant(text, timestamptz)")
        op.execute("DROP FUNCTION last_change_instant(text)")
