"""The change feed and webhooks on the wire, and their stored records."""
