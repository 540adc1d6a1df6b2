"""The figures of a stored quote: kept exactly, so that nothing is calculated again."""
