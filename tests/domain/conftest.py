"""The tests of the domain: properties are tried on the same examples every time and everywhere."""

from hypothesis import settings

settings.register_profile("same_everywhere", derandomize=True, deadline=None, database=None)
settings.load_profile("same_everywhere")
