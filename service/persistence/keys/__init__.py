"""Tables and stores of API keys, rates and idempotent requests."""
