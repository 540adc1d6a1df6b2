"""`framing-quotes serve`: start gunicorn, collect the workers' metrics."""
