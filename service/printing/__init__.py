"""Printing tickets and quotes from their stored documents: HTML, PDF, drawings, terminal text.

Everything here is printed from the documents that were stored when a ticket or quote was made, and
never worked out again: what hangs at the bench is what was proved.
"""
