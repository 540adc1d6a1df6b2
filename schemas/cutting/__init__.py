"""Cutting plans on the wire: requests in, plans out, and their stored records."""
