"""What will be out tomorrow and this week: the pieces whose proof or maintenance ends."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from django.urls import reverse

from equipment.due import DueItem
from equipment.due_selectors import due_items
from shopcool.shop.models import Shop

THIS_WEEK = timedelta(days=7)


@dataclass(frozen=True)
class RunsOut:
    """One piece that is not ready from a day on, unless somebody acts before."""

    code: str
    url: str
    what: str
    out_from: date


@dataclass(frozen=True)
class Outlook:
    """What is out from tomorrow, and what follows within the week."""

    tomorrow: tuple[RunsOut, ...] = ()
    this_week: tuple[RunsOut, ...] = ()

    @property
    def is_calm(self) -> bool:
        """Whether nothing runs out within the week."""
        return not (self.tomorrow or self.this_week)


def outlook(today: date, shop: Shop) -> Outlook:
    """Return what will be out, however many pieces there are with the same few queries."""
    until = today + THIS_WEEK - timedelta(days=1)
    return outlook_of(due_items(today=today, until=until, shop=shop), today)


def outlook_of(items: Iterable[DueItem], today: date) -> Outlook:
    """Return what will be out: a piece is still ready on the day on which it is due, not on the next.

    What is overdue is left away, since the board itself says so.
    """
    rows = [_row(item) for item in items if item.blocks and item.piece_code and not item.is_overdue(today)]
    tomorrow = today + timedelta(days=1)
    return Outlook(
        tuple(row for row in rows if row.out_from == tomorrow),
        tuple(row for row in rows if row.out_from > tomorrow),
    )


def _row(item: DueItem) -> RunsOut:
    url = reverse("equipment:piece", args=[item.piece_code])
    return RunsOut(item.piece_code, url, item.what, item.due_on + timedelta(days=1))
