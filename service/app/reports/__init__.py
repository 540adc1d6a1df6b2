"""Use cases of reports that need more than sums."""
