"""How long a reminder may be put aside. Pure."""

from __future__ import annotations

from datetime import date, timedelta

from django.utils.translation import gettext as _

from shopcool.core.errors import DomainError

LONGEST = timedelta(days=90)
SHORTEST_REASON = 3


class SnoozeRefused(DomainError):
    """The reminder can't be put aside, or not that long."""

    code = "snooze_refused"


def last_day_aside(*, due_on: date, blocks: bool, today: date) -> date | None:
    """Return the latest day until which a reminder may be put aside, None when it may not be at all.

    What makes a piece unready, or forbids work, comes back on its due day at the latest.
    """
    if not blocks:
        return today + LONGEST
    return min(due_on, today + LONGEST) if due_on > today else None


def check_snooze(*, due_on: date, blocks: bool, today: date, until: date, reason: str) -> None:
    """Refuse a day that has come, a day too far ahead, and a missing reason; raises SnoozeRefused."""
    last = last_day_aside(due_on=due_on, blocks=blocks, today=today)
    if last is None:
        sentence = _("This can't be put aside: until it is done, the work it belongs to is refused.")
        raise SnoozeRefused(sentence, field="until")
    if until <= today:
        raise SnoozeRefused(_("Choose a day after today."), field="until")
    if until > last:
        sentence = _("Until %(day)s at the latest.") % {"day": last.isoformat()}
        raise SnoozeRefused(sentence, field="until")
    if len(" ".join(reason.split())) < SHORTEST_REASON:
        raise SnoozeRefused(_("Say in a few words why it can wait."), field="reason")
