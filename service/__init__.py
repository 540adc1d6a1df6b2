"""Framing quotes: sizes, material use, bench time and price of a framed picture."""
