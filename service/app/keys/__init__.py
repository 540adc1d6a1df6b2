"""Use cases of API keys: issue, check, cache, idempotency, page sessions."""
