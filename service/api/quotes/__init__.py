"""Routes of stored quotes: create, read, steps, revisions."""
