"""A moulding has its height, by which the rabbet of a frame round it is checked.

The default stays in the database, so that servers of the last release can still store items.

Revision ID: 0019
Revises: 0018
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0019"
down_revision = "0018"
branch_labels = None
depends_on = None


def upgrade() -> None:
    column = sa.Column("height", sa.BigInteger(), nullable=False, server_default="0")
    op.add_column("mouldings", column)


def downgrade() -> None:
    with op.batch_alter_table("mouldings") as batch:
        batch.drop_column("height")
