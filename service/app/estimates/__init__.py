"""Use cases of estimates."""
