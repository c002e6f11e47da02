"""Putting a reminder aside until a day, with a reason, and taking it up again."""

from __future__ import annotations

from datetime import date, datetime

from django.db import transaction
from django.utils.translation import gettext as _

from equipment.policies import may_snooze
from equipment.reminders.days import local_day
from equipment.reminders.models import Reminder, ReminderStatus, Snooze
from equipment.reminders.snoozing import check_snooze
from shopcool.core.actors import Actor
from shopcool.core.errors import Conflict, require
from shopcool.shop.selectors import shop_get


class ReminderClosed(Conflict):
    """The reminder is done, or a newer one took its place."""

    code = "reminder_closed"


@transaction.atomic
def reminder_snooze(*, actor: Actor, reminder: Reminder, until: date, reason: str, now: datetime) -> Snooze:
    """Put a reminder of one's own aside until a day; put aside again, the new day and reason hold.

    Raises NotAllowed, ReminderClosed, and SnoozeRefused for a day that is too far or a missing reason.
    """
    row = _locked(actor, reminder)
    today = local_day(now, shop_get().time_zone)
    check_snooze(due_on=row.due_on, blocks=row.blocks, today=today, until=until, reason=reason)
    words = " ".join(reason.split())[:300]
    present = Snooze.objects.filter(reminder=row, ended_at__isnull=True).first()
    if present is not None and (present.until, present.reason) == (until, words):
        return present
    _end(row, now)
    return Snooze.objects.create(
        reminder=row, until=until, reason=words, made_at=now, made_by_id=row.recipient_id
    )


@transaction.atomic
def reminder_unsnooze(*, actor: Actor, reminder: Reminder, now: datetime) -> bool:
    """Take a reminder of one's own up again; return whether it was put aside.

    Raises NotAllowed and ReminderClosed.
    """
    return _end(_locked(actor, reminder), now)


def _locked(actor: Actor, reminder: Reminder) -> Reminder:
    row = Reminder.objects.select_for_update().get(pk=reminder.pk)
    require(may_snooze(actor, row.recipient_id))
    if row.status != ReminderStatus.OPEN:
        raise ReminderClosed(_("This reminder is closed already: the work is done or a newer one came."))
    return row


def _end(row: Reminder, now: datetime) -> bool:
    return Snooze.objects.filter(reminder=row, ended_at__isnull=True).update(ended_at=now) == 1
