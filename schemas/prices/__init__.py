"""Price lists on the wire and as CSV, and their stored records."""
