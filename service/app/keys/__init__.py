"""Use cases of API keys: issuing, checking, caching, idempotency, page sessions."""
