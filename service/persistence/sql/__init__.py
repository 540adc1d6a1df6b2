"""Shared by every store: engine, session, column types, schema level, turns."""
