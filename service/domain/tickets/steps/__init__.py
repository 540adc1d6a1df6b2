"""The steps of a ticket, by the tool that takes them."""
