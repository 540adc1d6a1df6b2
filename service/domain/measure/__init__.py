"""Exact lengths, areas and united inches, and all rounding functions."""
