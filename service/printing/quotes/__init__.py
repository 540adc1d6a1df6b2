"""Quotes on paper, as a page and in the terminal."""
