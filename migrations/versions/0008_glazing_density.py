"""A sheet of glazing may have a density of its own; 0 stands for that of its material.

Revision ID: 0008
Revises: 0007
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    density = sa.Column("density_kg_per_m3", sa.Text(), nullable=False, server_default="0")
    op.add_column("glazing", density)
    with op.batch_alter_table("glazing") as batch:
        batch.alter_column("density_kg_per_m3", server_default=None)


def downgrade() -> None:
    with op.batch_alter_table("glazing") as batch:
        batch.drop_column("density_kg_per_m3")
