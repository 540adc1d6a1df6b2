"""The rules of the trade: pure, exact, and free of frameworks."""
