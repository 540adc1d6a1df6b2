"""Bench minutes: the drivers of a job and the shop's labour standard."""
