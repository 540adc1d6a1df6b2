"""Estimates on the wire: answers, sweeps and workings."""
