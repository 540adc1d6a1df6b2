"""The steps of a ticket, by tool."""
