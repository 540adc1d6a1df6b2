"""Routes of the change feed and of webhooks."""
