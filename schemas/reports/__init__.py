"""Reports on the wire: one table per report, and the facts that they add up."""
