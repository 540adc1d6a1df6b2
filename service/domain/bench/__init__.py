"""How each material is worked at the bench, as data."""
