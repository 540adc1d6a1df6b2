"""A stored quote's states, number, promise and sale."""
