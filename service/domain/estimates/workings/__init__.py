"""Workings: the formula, inputs and result of each figure."""
