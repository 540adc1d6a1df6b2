"""An apprentice follows printed tickets on a bench of his own, and measures what comes of it.

Nothing here but `press.py` and `jobs.py` may import `service` or `schemas`: the apprentice knows
the printed words, the order and his tools.
"""
