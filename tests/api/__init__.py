"""Tests of the REST service, against the demo shop."""
