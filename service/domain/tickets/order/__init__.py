"""The order of a ticket's steps, with the fewest set-up changes."""
