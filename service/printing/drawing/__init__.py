"""Drawings to scale, as lists of strokes, shapes and texts: what is drawn, not how it is printed.

All places are whole hundredths of a point (1 pt = 1/72 in), y running down, so that no binary float
touches a length and two printers draw the same thing.
"""
