"""Plans for sticks: one-dimensional patterns, their search and pricing."""
