"""Boards and glazing say what cuts them and what their edges lose; glazing may have grain.

The defaults stay in the database, so that servers of the last release can still store items.

Revision ID: 0011
Revises: 0010
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None


def _columns() -> dict[str, list[sa.Column[object]]]:
    return {
        table: [
            sa.Column("cut_by", sa.Text(), nullable=False, server_default="scored"),
            sa.Column("edge_trim", sa.BigInteger(), nullable=False, server_default="0"),
        ]
        for table in ("boards", "glazing")
    }


def upgrade() -> None:
    for table, columns in _columns().items():
        for column in columns:
            op.add_column(table, column)
    op.add_column(
        "glazing", sa.Column("grain", sa.Boolean(), nullable=False, server_default=sa.false())
    )


def downgrade() -> None:
    for table, names in (
        ("boards", ("cut_by", "edge_trim")),
        ("glazing", ("cut_by", "edge_trim", "grain")),
    ):
        with op.batch_alter_table(table) as batch:
            for name in names:
                batch.drop_column(name)
