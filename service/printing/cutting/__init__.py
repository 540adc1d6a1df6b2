"""Cutting plans and offcut labels on paper and in the terminal."""
