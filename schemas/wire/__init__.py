"""The common parts of all documents: fields, lengths, figures, faults, pages, problems."""
