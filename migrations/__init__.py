"""Alembic's scripts; a package, so that they travel in the wheel with the service."""
