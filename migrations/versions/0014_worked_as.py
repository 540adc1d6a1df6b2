"""Boards name the material that decides how the bench works them.

The defaults stay in the database, so that servers of the last release can still store items.

Revision ID: 0014
Revises: 0013
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0014"
down_revision = "0013"
branch_labels = None
depends_on = None


def upgrade() -> None:
    empty = sa.text("''")
    op.add_column("boards", sa.Column("worked_as", sa.Text(), nullable=False, server_default=empty))


def downgrade() -> None:
    with op.batch_alter_table("boards") as batch:
        batch.drop_column("worked_as")
