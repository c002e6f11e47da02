"""The values of a step record: quantities with what was typed beside SI, and plain answers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any, overload

from shopcool.engineering.quantities import Quantity


@dataclass(frozen=True)
class Values:
    """What was recorded, by field name; a field without a value is absent, never 0 or no.

    A quantity is kept as :meth:`Quantity.as_record` gives it, with ``source`` for what showed a pressure.
    """

    stored: Mapping[str, Any] = field(default_factory=dict)

    def as_record(self) -> dict[str, Any]:
        """Return the values as JSON carries them."""
        return dict(self.stored)

    def has(self, name: str) -> bool:
        """Whether the field has a value."""
        return name in self.stored

    def quantity(self, name: str) -> Quantity | None:
        """Return a reading, None when it was not taken."""
        record = self.stored.get(name)
        return Quantity.from_record(record) if isinstance(record, dict) else None

    @overload
    def si(self, name: str) -> float | None: ...

    @overload
    def si(self, name: str, default: float) -> float: ...

    def si(self, name: str, default: float | None = None) -> float | None:
        """Return the SI value of a reading, or the default when it was not taken."""
        reading = self.quantity(name)
        return reading.si if reading else default

    def needed(self, name: str) -> float:
        """Return the SI value of a required reading."""
        value = self.si(name)
        if value is None:
            raise KeyError(name)
        return value

    def text(self, name: str) -> str:
        """Return a text or a choice, empty without one."""
        return str(self.stored.get(name, ""))

    def named(self, name: str) -> Mapping[str, Any] | None:
        """Return the piece or instrument that was named, None without one."""
        found = self.stored.get(name)
        return found if isinstance(found, dict) else None

    def yes(self, name: str) -> bool:
        """Whether the answer was yes."""
        return self.stored.get(name) is True

    def no(self, name: str) -> bool:
        """Whether the answer was no; a missing answer is neither."""
        return self.stored.get(name) is False

    def many(self, name: str) -> tuple[str, ...]:
        """Return the chosen answers."""
        return tuple(self.stored.get(name, ()))

    def number(self, name: str) -> int | None:
        """Return the number of a piece."""
        value = self.stored.get(name)
        return None if value is None else int(value["id"])

    def day(self, name: str) -> date | None:
        """Return a date."""
        value = self.stored.get(name)
        return date.fromisoformat(value) if value else None
