"""The framing rules: pure functions and values in exact arithmetic, with no framework imports."""
