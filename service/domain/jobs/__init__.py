"""A framing job: what was asked for, its sizes, cut list, material use and weight."""
