"""Shared by all printed documents: fonts, layout, barcodes, charts, templates, words."""
