"""Use cases: plain functions over ports; no framework, no SQL."""
