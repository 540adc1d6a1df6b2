"""Pages for a browser: the quote form, the owner's summary, the API documentation."""
