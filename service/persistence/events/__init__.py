"""Tables and stores of the change feed and of webhooks."""
