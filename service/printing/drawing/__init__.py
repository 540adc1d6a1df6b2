"""Drawings to scale, as lists of strokes, shapes and texts, independent of the output format.

All coordinates are whole hundredths of a point (1 pt = 1/72 in), y pointing down, so that no binary
float touches a length and two printers draw the same thing.
"""
