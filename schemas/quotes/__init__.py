"""Quotes on the wire: requests, answers, steps, revisions, and their stored records."""
