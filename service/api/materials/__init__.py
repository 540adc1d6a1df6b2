"""Routes of the catalogue, the stock and the offcut rack."""
