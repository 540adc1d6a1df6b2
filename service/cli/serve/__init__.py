"""`framing-quotes serve`: start gunicorn and collect the workers' metrics."""
