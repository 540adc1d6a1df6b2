"""The cut ticket: the instructions for the bench, with all arithmetic already done."""
