"""Loaded schemas of the quote and sweep requests."""

from __future__ import annotations

from schemas.jobs import QuoteRequestDocument, SweepRequestDocument

QUOTE_REQUEST = QuoteRequestDocument()
SWEEP_REQUEST = SweepRequestDocument()
