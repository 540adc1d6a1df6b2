"""The queue of big cutting plans, in PostgreSQL alone: what the procrastinate library keeps there.

The library's own migrations are run in their order up to the last one that this release works with,
in a schema of their own. So the outcome is the same whichever release of the library is installed;
one that asks for more comes with a migration of ours.

Revision ID: 0006
Revises: 0005
"""

from __future__ import annotations

from importlib.resources import files

from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None

SCHEMA = "procrastinate"
LAST = "03.04.00_50_post_add_retry_failed_job_procedure.sql"


def upgrade() -> None:
    connection = op.get_bind()
    if connection.dialect.name != "postgresql":
        return
    before = connection.exec_driver_sql("SHOW search_path").scalar_one()
    connection.exec_driver_sql(f"CREATE SCHEMA {SCHEMA}")
    connection.exec_driver_sql(f"SET LOCAL search_path TO {SCHEMA}")
    folder = files("procrastinate.sql").joinpath("migrations")
    for name in sorted(each.name for each in folder.iterdir() if each.name.endswith(".sql")):
        if name <= LAST:
            script = folder.joinpath(name).read_text(encoding="utf-8")
            connection.exec_driver_sql(script.replace("%", "%%"))
    connection.exec_driver_sql(f"SET LOCAL search_path TO {before}")


def downgrade() -> None:
    connection = op.get_bind()
    if connection.dialect.name == "postgresql":
        connection.exec_driver_sql(f"DROP SCHEMA {SCHEMA} CASCADE")
