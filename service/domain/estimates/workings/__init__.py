"""The formula, the numbers put in and the result of each figure."""
