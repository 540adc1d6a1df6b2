"""What every route shares: keys, bodies, conditions, paging, problems, negotiation."""
