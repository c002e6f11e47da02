"""Fixtures of the whole suite, by the noun they are about."""

pytest_plugins = ["tests.people_fixtures"]
