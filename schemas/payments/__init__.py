"""Payments on the wire and as stored."""
