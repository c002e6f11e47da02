"""Which reminders are still to be written: each once, and after days of silence only the newest. Pure."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace
from datetime import date

from equipment.due import DueItem
from equipment.reminders.recipients import Crew, recipients
from equipment.reminders.stages import Notice, notices_reached


@dataclass(frozen=True)
class Need:
    """One due thing on its day, as one person is reminded of it."""

    due_key: str
    due_on: date
    recipient_id: int


@dataclass(frozen=True)
class Planned:
    """A reminder to be written; one that is not the newest is kept as skipped and never sent."""

    item: DueItem
    notice: Notice
    recipient_id: int
    is_newest: bool

    @property
    def need(self) -> Need:
        """What the reminder is about, and for whom."""
        return Need(self.item.key, self.item.due_on, self.recipient_id)


def steady(items: Iterable[DueItem], *, today: date, open_since: Mapping[str, date]) -> list[DueItem]:
    """Return the items with the day on which each was first due.

    What is due at once, like hours run, has no day of its own and is due "today" every day anew. If its
    reminder is open since an earlier day, given by key, it has been due all along.
    """
    return [
        replace(item, due_on=min(item.due_on, open_since.get(item.key, today)))
        if item.due_on == today
        else item
        for item in items
    ]


def plan(
    items: Iterable[DueItem],
    *,
    today: date,
    days_ahead: Collection[int],
    crew: Crew,
    written: AbstractSet[tuple[Need, Notice]],
    resting: AbstractSet[Need],
) -> list[Planned]:
    """Return the reminders that are missing on a day.

    ``written`` are those that exist already; a person is left alone about the needs that are ``resting``.
    """
    return [
        planned
        for item in items
        for recipient_id, notices in _by_recipient(item, today, days_ahead, crew).items()
        for planned in _missing(item, recipient_id, notices, written, resting)
    ]


def _by_recipient(
    item: DueItem, today: date, days_ahead: Collection[int], crew: Crew
) -> dict[int, list[Notice]]:
    """Return the notices that have come for each person, the oldest first."""
    told: dict[int, list[Notice]] = {}
    most = item.most_days_ahead
    ahead = [days for days in days_ahead if most is None or days <= most]
    for notice in notices_reached(item.due_on, today, ahead):
        for recipient_id in sorted(recipients(item, notice.stage, crew)):
            told.setdefault(recipient_id, []).append(notice)
    return told


def _missing(
    item: DueItem,
    recipient_id: int,
    notices: list[Notice],
    written: AbstractSet[tuple[Need, Notice]],
    resting: AbstractSet[Need],
) -> Iterator[Planned]:
    need, newest = Need(item.key, item.due_on, recipient_id), notices[-1]
    if need in resting or (need, newest) in written:
        return
    for notice in notices:
        if (need, notice) not in written:
            yield Planned(item, notice, recipient_id, is_newest=notice is newest)
