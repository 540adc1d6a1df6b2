"""The proof that a ticket's cuts give what was ordered."""
