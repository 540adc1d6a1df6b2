"""A quote keeps the words that it is found by; those of stored quotes are filled in afterwards.

The default stays in the database, so that servers of the last release can still store quotes.

Revision ID: 0020
Revises: 0019
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0020"
down_revision = "0019"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("quotes", sa.Column("words", sa.Text(), nullable=False, server_default=""))


def downgrade() -> None:
    with op.batch_alter_table("quotes") as batch:
        batch.drop_column("words")
