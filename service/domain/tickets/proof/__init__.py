"""The proof that a ticket's cuts produce what was ordered."""
