"""Shared by all routes: keys, bodies, conditions, paging, problems, negotiation."""
