"""A framing job: what was requested, its sizes, cut list, material use and weight."""
