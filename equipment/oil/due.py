"""What is due on the oil shelf: using up what stands open, and ordering what runs low."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import date, timedelta

from django.utils.translation import gettext as _

from equipment.due import DueItem, DueKind
from equipment.oil.grades import LotState, grade_key, is_low
from equipment.oil.selectors import LotNow, lots_at, lots_on_record
from shopcool.shop.models import Shop
from shopcool.shop.selectors import shop_get

#: A container stands open for some weeks only: a notice of a month would come with its opening.
MOST_DAYS_AHEAD = 7
_USED_UP_SOME_DAY = {LotState.OPEN, LotState.LOW, LotState.OPEN_TOO_LONG}


def lots_due(today: date, until: date, shop: Shop | None = None) -> Iterator[DueItem]:
    """Return the open lots whose last day comes, and the next container of each grade that runs low."""
    rows = list(lots_on_record())
    if not rows:
        return
    lots = lots_at(rows, shop=shop or shop_get(), today=today)
    for lot in lots:
        last_day = last_day_of(lot, today)
        if last_day is not None and last_day <= until:
            yield _using_up(lot, last_day)
    if today <= until:
        yield from (_next_container(lot, today) for lot in newest_of_low_grades(lots))


def last_day_of(lot: LotNow, today: date) -> date | None:
    """Return the last day on which an open lot may be dispensed, None where no day ends it."""
    if lot.state not in _USED_UP_SOME_DAY or lot.days_open is None or lot.limit_days is None:
        return None
    return today + timedelta(days=lot.limit_days - lot.days_open)


def newest_of_low_grades(lots: Iterable[LotNow]) -> list[LotNow]:
    """Return the newest lot of each class and grade of which no more is left than that lot's low-stock level.

    What may not be dispensed does not count as stock. A grade whose newest lot has no level is not watched.
    """
    grades: dict[tuple[str, str], list[LotNow]] = defaultdict(list)
    for lot in lots:
        grades[lot.lot.lubricant, grade_key(lot.lot.grade)].append(lot)
    low = []
    for same in grades.values():
        newest = max(same, key=lambda one: (one.lot.received_on, one.lot.pk))
        stock = sum(one.volume_m3 for one in same if one.state.may_be_dispensed)
        if is_low(stock, newest.lot.low_m3):
            low.append(newest)
    return low


def _using_up(lot: LotNow, last_day: date) -> DueItem:
    return DueItem(
        key=f"lot:{lot.lot.pk}",
        kind=DueKind.OIL,
        what=_("Using up %(lot)s") % {"lot": lot.lot},
        due_on=last_day,
        blocks=True,
        lot_code=lot.lot.code,
        most_days_ahead=MOST_DAYS_AHEAD,
    )


def _next_container(lot: LotNow, today: date) -> DueItem:
    return DueItem(
        key=f"oil:{lot.lot.lubricant}:{grade_key(lot.lot.grade)}",
        kind=DueKind.OIL,
        what=_("Next container of %(oil)s") % {"oil": lot.lot.oil},
        due_on=today,
        blocks=False,
        lot_code=lot.lot.code,
    )
