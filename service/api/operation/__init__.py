"""Routes for whoever runs the service: health, metrics, request counting."""
