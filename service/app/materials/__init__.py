"""Use cases of the catalogue and the stock."""
