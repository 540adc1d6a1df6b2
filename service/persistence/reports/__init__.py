"""Tables of facts, the sums that reports take from them, and gauges."""
