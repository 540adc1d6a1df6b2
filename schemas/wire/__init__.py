"""What every document shares: fields, lengths, figures, faults, pages, problems."""
