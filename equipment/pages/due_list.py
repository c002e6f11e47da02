"""The due list: what is overdue, due today, this week and this month, across pieces and people."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.core.paginator import Page, Paginator
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from equipment.due import DueItem, DueKind
from equipment.due_selectors import due_items
from equipment.maintenance.policies import may_record_maintenance
from equipment.pages.words import day_words
from equipment.policies import may_handle_oil, may_manage_equipment
from shopcool.core.actors import Actor
from shopcool.shop.models import Shop

WEEK, MONTH = timedelta(days=7), timedelta(days=30)
ROWS_ON_A_PAGE = 50


@dataclass(frozen=True)
class DueRow:
    """One thing that is due, where it is shown and where it is dealt with."""

    item: DueItem
    what: str
    kind: str
    day: str
    when: str
    tone: str
    late: str
    url: str
    act_url: str = ""
    act: str = ""


@dataclass(frozen=True)
class DueSection:
    """The things of one stretch of time on this sheet, and how many there are in all."""

    code: str
    title: str
    total: int
    rows: tuple[DueRow, ...]


@dataclass(frozen=True)
class DueTab:
    """One kind of thing with how many are due."""

    label: str
    url: str
    current: bool
    count: int


@dataclass(frozen=True)
class DueList:
    """The whole page."""

    tabs: tuple[DueTab, ...]
    sections: tuple[DueSection, ...]
    sheet: Page[DueItem]
    kind: str
    words: str


def due_list(
    actor: Actor,
    today: date,
    *,
    kind: str = "",
    words: str = "",
    page: str = "1",
    shop: Shop | None = None,
) -> DueList:
    """Return what is due within the month, perhaps of one kind, or for one piece, person or lot by name."""
    every = [item for item in due_items(today=today, until=today + MONTH, shop=shop) if _names(item, words)]
    kind = kind if kind in DueKind.values else ""
    chosen = [item for item in every if kind in {"", item.kind.value}]
    totals = Counter(section_of(item, today) for item in chosen)
    sheet = Paginator(chosen, ROWS_ON_A_PAGE).get_page(page)
    return DueList(
        _tabs(every, kind, words), tuple(_sections(actor, sheet, totals, today)), sheet, kind, words
    )


def section_of(item: DueItem, today: date) -> str:
    """Return the stretch of time in which a thing is due."""
    if item.is_overdue(today):
        return "overdue"
    if item.due_on == today:
        return "today"
    return "week" if item.due_on < today + WEEK else "month"


def _names(item: DueItem, words: str) -> bool:
    wanted = words.strip().casefold()
    return any(wanted in name.casefold() for name in (item.piece_code, item.person, item.lot_code))


def _tabs(items: Sequence[DueItem], kind: str, words: str) -> tuple[DueTab, ...]:
    counts = Counter(item.kind for item in items)
    rest = {"q": words} if words else {}
    everything = DueTab(_("All"), f"?{urlencode(rest)}", not kind, len(items))
    return (
        everything,
        *(
            DueTab(str(one.label), f"?{urlencode({'kind': one.value, **rest})}", kind == one, counts[one])
            for one in DueKind
            if counts[one]
        ),
    )


def _sections(
    actor: Actor, items: Iterable[DueItem], totals: Counter[str], today: date
) -> Iterable[DueSection]:
    titles = {
        "overdue": _("Overdue"),
        "today": _("Today"),
        "week": _("Within a week"),
        "month": _("Within a month"),
    }
    rows = [(section_of(item, today), _row(actor, item, today)) for item in items]
    for code, title in titles.items():
        found = tuple(row for section, row in rows if section == code)
        if found:
            yield DueSection(code, title, totals[code], found)


def _row(actor: Actor, item: DueItem, today: date) -> DueRow:
    act, act_url = _act(actor, item, today)
    late = "refusal" if item.blocks else "warning"
    tones = {"overdue": late, "today": "warning"}
    return DueRow(
        item=item,
        what=item.what,
        kind=str(item.kind.label),
        day=_("today") if item.due_on == today else day_words(item.due_on),
        when=_when(item, today),
        tone=tones.get(section_of(item, today), ""),
        late=_late(item) if item.is_overdue(today) and item.blocks else "",
        url=_page_of(item),
        act=act,
        act_url=act_url,
    )


def _late(item: DueItem) -> str:
    if item.lot_code:
        return _("may not be used")
    return _("not ready") if item.piece_code else _("may not do this work")


def _page_of(item: DueItem) -> str:
    if item.lot_code:
        return reverse("equipment:oil_lot", args=[item.lot_code])
    return reverse("equipment:piece", args=[item.piece_code]) if item.piece_code else ""


def _when(item: DueItem, today: date) -> str:
    days = (item.due_on - today).days
    if days < 0:
        return ngettext("%(days)d day ago", "%(days)d days ago", -days) % {"days": -days}
    return ngettext("in %(days)d day", "in %(days)d days", days) % {"days": days} if days else ""


def _act(actor: Actor, item: DueItem, today: date) -> tuple[str, str]:
    """Return what the person can do about a thing, and where."""
    if item.kind is DueKind.MAINTENANCE and may_record_maintenance(actor):
        number = item.key.partition(":")[2]
        return _("Record work"), reverse("equipment:plan_work", args=[item.piece_code, number])
    is_paper = item.kind in {DueKind.CERTIFICATE, DueKind.CALIBRATION}
    if is_paper and item.piece_code and may_manage_equipment(actor):
        return _("Enter the new one"), reverse("equipment:document", args=[item.piece_code])
    if item.kind is DueKind.COMPETENCE and may_manage_equipment(actor):
        return _("Enter the new one"), reverse("people:competence_create", args=[item.user_id])
    if item.kind is DueKind.OIL and may_handle_oil(actor):
        return _act_on_oil(item, today)
    return "", ""


def _act_on_oil(item: DueItem, today: date) -> tuple[str, str]:
    if not item.blocks:
        return _("Put a lot on the shelf"), reverse("equipment:oil_lot_new")
    if item.is_overdue(today):
        return _("Take out as waste"), reverse("equipment:oil_waste", args=[item.lot_code])
    return "", ""
