"""Cutting patterns: the pool, the master problem that chooses among them, its bound."""
