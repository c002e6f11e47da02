"""Steps in addresses: ``READINGS_BEFORE`` is written ``readings-before``."""

from __future__ import annotations

from jobs.choices import StepKind


class StepKindConverter:
    """Turn a part of an address into a kind of step; an unknown one matches nothing."""

    regex = "[a-z-]+"

    def to_python(self, value: str) -> StepKind:
        """Return the kind; a ValueError makes the address unknown."""
        return StepKind(value.upper().replace("-", "_"))

    def to_url(self, value: str) -> str:
        """Return the kind as an address writes it."""
        return StepKind(value).value.lower().replace("_", "-")
