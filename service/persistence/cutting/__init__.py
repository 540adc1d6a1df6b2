"""Tables and stores of cutting plans, and the queue of background work."""
