"""Idempotent requests, the change feed and webhooks.

Revision ID: 0003
Revises: 0002
"""

from __future__ import annotations

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Nothing yet."""


def downgrade() -> None:
    """Nothing yet."""
