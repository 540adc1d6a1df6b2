"""Routes for operators: health, metrics, request counting."""
