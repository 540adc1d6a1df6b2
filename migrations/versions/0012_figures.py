"""Stored revisions keep their figures, exactly.

The column may be empty, so that servers of the release before can still store quotes. The command
`migrate` then fills it in short transactions, since reading old answers may take minutes.

Revision ID: 0012
Revises: 0011
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("quote_revisions", sa.Column("figures", sa.Text(), nullable=True))


def downgrade() -> None:
    with op.batch_alter_table("quote_revisions") as batch:
        batch.drop_column("figures")
