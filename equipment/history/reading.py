"""Reading the history sheet by sheet, newest first, each sheet from where the one before it ended.

A sheet asks every source for as many rows as it holds and keeps the newest of all. So the thousandth sheet
costs what the first one costs, and a file of everything needs the memory of one sheet.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import Q

from equipment.history.entries import HistoryEntry, Scope
from equipment.history.sources import SOURCES, Source


@dataclass(frozen=True)
class Cursor:
    """Where a sheet ended: the moment, the rank of the source and the row of its last entry."""

    moment: datetime
    rank: int
    pk: int

    def __str__(self) -> str:
        return f"{self.moment.isoformat()}~{self.rank}~{self.pk}"

    @classmethod
    def read(cls, text: str) -> Cursor | None:
        """Return the cursor that a text names, None for anything else: then reading begins at the newest."""
        try:
            moment, rank, pk = text.split("~")
            cursor = cls(datetime.fromisoformat(moment), int(rank), int(pk))
        except ValueError:
            return None
        in_range = 0 <= cursor.rank < 100 and 0 <= cursor.pk < 2**63
        return cursor if in_range and cursor.moment.tzinfo is not None else None

    def after(self, source: Source, rank: int) -> Q:
        """Return what of a source comes after this place."""
        at, moment = source.moment, self.moment
        if rank > self.rank:
            return Q(**{f"{at}__lt": moment})
        if rank < self.rank:
            return Q(**{f"{at}__lte": moment})
        return Q(**{f"{at}__lte": moment}) & ~Q(**{at: moment, "pk__gte": self.pk})


@dataclass(frozen=True)
class Sheet:
    """Some entries, newest first, and where the next sheet begins; empty when this is the last."""

    entries: tuple[HistoryEntry, ...]
    next: Cursor | None


def sheet(scope: Scope, *, after: Cursor | None = None, size: int = 50) -> Sheet:
    """Return a sheet of the history with a number of queries that does not grow with it."""
    found: list[tuple[Cursor, Any]] = []
    for rank, source in enumerate(SOURCES):
        rows = source.rows(scope)
        if after is not None:
            rows = rows.filter(after.after(source, rank))
        newest = rows.order_by(f"-{source.moment}", "-pk")[: size + 1]
        found += [(Cursor(getattr(row, source.moment), rank, row.pk), row) for row in newest]
    found.sort(key=lambda pair: (pair[0].moment, pair[0].rank, pair[0].pk), reverse=True)
    kept = found[:size]
    more = kept[-1][0] if len(found) > size else None
    return Sheet(_told(kept), more)


def entries(scope: Scope, *, size: int = 1000) -> Iterator[HistoryEntry]:
    """Yield the whole history of a scope, newest first, holding no more than one sheet of it."""
    after: Cursor | None = None
    while True:
        found = sheet(scope, after=after, size=size)
        yield from found.entries
        if found.next is None:
            return
        after = found.next


def _told(found: list[tuple[Cursor, Any]]) -> tuple[HistoryEntry, ...]:
    """Return rows in words, each source asked once for all of its own."""
    told: dict[Cursor, HistoryEntry] = {}
    for rank, source in enumerate(SOURCES):
        own = [(cursor, row) for cursor, row in found if cursor.rank == rank]
        if own:
            words = source.tell([row for _cursor, row in own])
            told.update(zip((cursor for cursor, _row in own), words, strict=True))
    return tuple(told[cursor] for cursor, _row in found)
