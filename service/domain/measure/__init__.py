"""Exact lengths, areas and united inches, and every rounding that there is."""
