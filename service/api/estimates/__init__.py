"""Routes of estimates: single, bulk and sweep."""
