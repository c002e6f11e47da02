"""The one exception of the computations."""

from __future__ import annotations

from collections.abc import Mapping


class Refusal(Exception):
    """A computation that does not apply, with a sentence a technician can act on.

    ``code`` is stable and for programs, ``message`` is for people, ``field`` names the input that is to
    blame where there is one, and ``details`` carries the limits that were broken.
    """

    def __init__(
        self, code: str, message: str, *, field: str = "", details: Mapping[str, object] | None = None
    ) -> None:
        super().__init__(message)
        self.code = code
        self.message = message
        self.field = field
        self.details = dict(details or {})
