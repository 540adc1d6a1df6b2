"""Events are placed by one sequence of numbers; eras know the server's run they began in.

In PostgreSQL a trigger places each event, whichever release stores it. Until now an event was
placed by the number of its transaction; those stay before all that are placed from here on.

Revision ID: 0009
Revises: 0008
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None

RUN = (
    "(SELECT oid FROM pg_database WHERE datname = current_database())::text || ' ' || "
    "to_char(pg_postmaster_start_time() AT TIME ZONE 'UTC', 'YYYY-MM-DD HH24:MI:SS.US')"
)
FIRST_ERA = f"""
INSERT INTO event_eras (era, begun_at, turn, run)
SELECT coalesce((SELECT max(era) FROM event_eras), 0) + 1, now(), greatest(
    (extract(epoch FROM clock_timestamp()) * 1000000)::bigint,
    (SELECT max(turn) + 1 FROM events),
    (SELECT max(turn) + 1 FROM webhook_endpoints)
), {RUN}
"""  # noqa: S608 — of constants  # nosec B608
# 1257 marks the lock as one of these; 12 bits tell shops apart; 40 hold the number of an event.
PLACE_EVENT = """
CREATE FUNCTION place_event() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    given bigint;
BEGIN
    IF current_setting('framing_quotes.notes_for', true) IS DISTINCT FROM NEW.shop_id THEN
        given := coalesce(pg_sequence_last_value('events_id_seq'), 0);
        PERFORM pg_advisory_xact_lock_shared(
            (1257::bigint << 52) | ((hashtext(NEW.shop_id) & 4095)::bigint << 40) | given
        );
        PERFORM set_config('framing_quotes.notes_for', NEW.shop_id, true);
    END IF;
    NEW.id := nextval('events_id_seq');
    NEW.turn := (SELECT turn FROM event_eras ORDER BY era DESC LIMIT 1);
    RETURN NEW;
END
$$
"""
TRIGGER = """
CREATE TRIGGER place_event BEFORE INSERT ON events FOR EACH ROW EXECUTE FUNCTION place_event()
"""
NUMBERS_OF_ALL = """
SELECT setval('events_id_seq', max(id)) FROM events
HAVING max(id) > coalesce(pg_sequence_last_value('events_id_seq'), 0)
"""
# The release before places by transaction again, in an era whose numbers stand above these.
ERA_BEFORE = """
INSERT INTO event_eras (era, begun_at)
SELECT (max(turn) >> 48) + 1, now() FROM events
HAVING max(turn) >= (SELECT min(turn) FROM placed)
"""


def upgrade() -> None:
    with op.batch_alter_table("event_eras") as eras:
        eras.add_column(sa.Column("turn", sa.BigInteger(), nullable=False, server_default="0"))
        eras.add_column(sa.Column("run", sa.Text(), nullable=False, server_default=""))
    with op.batch_alter_table("event_eras") as eras:
        eras.alter_column("turn", existing_type=sa.BigInteger(), server_default=None)
        eras.alter_column("run", existing_type=sa.Text(), server_default=None)
    if op.get_bind().dialect.name == "postgresql":
        op.execute(FIRST_ERA)
        op.execute(NUMBERS_OF_ALL)
        op.execute("ALTER TABLE events ALTER COLUMN id DROP DEFAULT")
        op.execute(PLACE_EVENT)
        op.execute(TRIGGER)


def downgrade() -> None:
    postgresql = op.get_bind().dialect.name == "postgresql"
    if postgresql:
        op.execute("DROP TRIGGER place_event ON events")
        op.execute("DROP FUNCTION place_event()")
        op.execute("ALTER TABLE events ALTER COLUMN id SET DEFAULT nextval('events_id_seq')")
        op.execute("CREATE TEMPORARY TABLE placed ON COMMIT DROP AS SELECT * FROM event_eras")
        op.execute("DELETE FROM placed WHERE run = ''")
        op.execute("DELETE FROM event_eras WHERE run <> ''")
    with op.batch_alter_table("event_eras") as eras:
        eras.drop_column("run")
        eras.drop_column("turn")
    if postgresql:
        op.execute(ERA_BEFORE)
