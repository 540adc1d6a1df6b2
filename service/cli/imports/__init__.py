"""`framing-quotes import`: read a folder of CSV files into a shop."""
