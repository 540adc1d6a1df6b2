"""Use cases of webhooks: register, deliver, send."""
