"""Use cases of webhooks: registering, delivering, sending."""
