"""What the list of reminders shows."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from django.core.paginator import Page, Paginator
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from equipment.policies import may_see_runs
from equipment.reminders.days import local_day
from equipment.reminders.mail import reminder_path
from equipment.reminders.models import Reminder, Snooze
from equipment.reminders.selectors import (
    RunReport,
    reminders_standing,
    run_report,
    snooze_of,
)
from equipment.reminders.snoozing import last_day_aside
from equipment.reminders.words import emails_words, reminders_words
from equipment.services.digests import mail_is_on
from shopcool.core.actors import Actor
from shopcool.people.models import User
from shopcool.shop.models import Shop

ROWS_PER_PAGE = 50


@dataclass(frozen=True)
class ReminderLine:
    """One reminder as the list shows it."""

    reminder: Reminder
    url: str
    when: str
    tone: str
    word: str
    may_wait: bool
    snooze: Snooze | None


@dataclass(frozen=True)
class RemindersPage:
    """A person's reminders, the urgent first, those put aside apart, and how the daily run does."""

    lines: Page[ReminderLine]
    aside: list[ReminderLine]
    email: str
    mail_is_on: bool
    run: RunReport | None
    run_facts: list[tuple[str, str | None]]


def reminders_page(*, actor: Actor, shop: Shop, now: datetime, number: str) -> RemindersPage:
    """Return the list of a person; an owner also sees how the daily run does."""
    today = local_day(now, shop.time_zone)
    lines = [reminder_line(row, today) for row in reminders_standing(actor, today=today)]
    run = run_report(shop, now) if may_see_runs(actor) else None
    return RemindersPage(
        lines=Paginator([line for line in lines if line.snooze is None], ROWS_PER_PAGE).get_page(number),
        aside=[line for line in lines if line.snooze is not None],
        email=_email(actor),
        mail_is_on=mail_is_on(),
        run=run,
        run_facts=_run_facts(run) if run else [],
    )


def _email(actor: Actor) -> str:
    return User.objects.filter(pk=actor.user_id or 0).values_list("email", flat=True).first() or ""


def reminder_line(row: Reminder, today: date) -> ReminderLine:
    """Return one reminder with its words for a day."""
    days = (row.due_on - today).days
    word, tone = _state(days)
    return ReminderLine(
        reminder=row,
        url=reminder_path(row),
        when=_when(days),
        tone=tone,
        word=word,
        may_wait=last_day_aside(due_on=row.due_on, blocks=row.blocks, today=today) is not None,
        snooze=snooze_of(row),
    )


def _state(days: int) -> tuple[str, str]:
    if days < 0:
        return _("Overdue"), "refusal"
    return (_("Due today"), "warning") if days == 0 else (_("Coming"), "")


def _when(days: int) -> str:
    if days < 0:
        return ngettext("%(days)d day ago", "%(days)d days ago", -days) % {"days": -days}
    return ngettext("in %(days)d day", "in %(days)d days", days) % {"days": days} if days else ""


def _run_facts(run: RunReport) -> list[tuple[str, str | None]]:
    newest = run.newest
    if newest is None:
        return [(_("Last run"), _("never"))]
    counts = {"reminders": reminders_words(newest.reminders), "emails": emails_words(newest.digests)}
    return [
        (_("For the day"), date_format(newest.day, "j M Y")),
        (_("Written"), _("%(reminders)s, %(emails)s") % counts),
        (_("By"), newest.worker),
    ]
