"""What stops a start, said so that a person can act on it."""

from __future__ import annotations


class CannotStart(Exception):
    """Something outside this program is in the way; the message names it and the way out."""


class StopRequested(Exception):
    """A person or the system asked for the end while something was still starting."""
