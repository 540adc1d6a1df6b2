"""Which sheet or stick each piece comes from: planned, bounded from below, and checked.

Light on purpose: numpy and the solver load with `sheets` and `sticks`, not with this package.
"""
