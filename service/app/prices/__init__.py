"""Use cases of price lists: the book in force, changes, imports."""
