"""Tables and stores of the catalogue, the offcut rack and the stock."""
