"""Erasing records after their time, and the archive that keeps them."""
