"""Printing tickets and quotes from their stored documents: HTML, PDF, drawings, terminal text.

Everything is printed from the documents stored when a ticket or quote was made, and never
recalculated: what hangs at the bench is what was proved.
"""
