"""The vehicle maker's table of trouble codes as the label step sees it: read when a code is first typed."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property

from jobs.steps.trouble_codes import KnownCode
from shopcool.vehicles.choices import CodeArea
from shopcool.vehicles.codes import codes_of
from shopcool.vehicles.models import Vehicle


class CodesOnFile:
    """What the shop has entered for the model of a vehicle."""

    def __init__(self, vehicle: Vehicle) -> None:
        self._vehicle = vehicle

    def __iter__(self) -> Iterator[KnownCode]:
        """Return the lines by code."""
        return iter(self._found)

    @cached_property
    def _found(self) -> list[KnownCode]:
        rows = codes_of(self._vehicle).order_by("code", "detail")
        return [KnownCode(row.code, row.detail, row.meaning, CodeArea(row.area), row.source) for row in rows]
