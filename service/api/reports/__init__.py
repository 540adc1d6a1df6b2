"""Routes of reports."""
