"""Cut tickets on the wire, and their stored records."""
