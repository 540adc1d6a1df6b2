"""The catalogue, stock and offcuts on the wire, and their stored records."""
