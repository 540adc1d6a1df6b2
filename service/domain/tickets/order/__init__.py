"""The order of a ticket's steps: fewest changes of set-up."""
