"""What every store shares: engine, session, column types, schema level, turns."""
