"""Glazing says how it is made: plain, coated, laminated or a mirror.

The default stays in the database, so that servers of the last release can still store items.

Revision ID: 0013
Revises: 0012
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0013"
down_revision = "0012"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("glazing", sa.Column("build", sa.Text(), nullable=False, server_default="plain"))


def downgrade() -> None:
    with op.batch_alter_table("glazing") as batch:
        batch.drop_column("build")
