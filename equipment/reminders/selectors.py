"""Reads of the reminders: a person's list, its count for every page, and how the daily run does."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import Count, Exists, OuterRef, Prefetch, QuerySet, Subquery
from django.db.models.functions import Coalesce

from equipment.due import DueItem
from equipment.due_selectors import due_items
from equipment.reminders.days import day_expected, is_missing
from equipment.reminders.models import Digest, DigestStatus, Reminder, ReminderRun, ReminderStatus, Snooze
from equipment.reminders.planning import steady
from equipment.reminders.recipients import Crew, recipients
from equipment.reminders.stages import Stage
from shopcool.core.actors import Actor, Role
from shopcool.people.models import User
from shopcool.people.policies import works_here
from shopcool.shop.models import Shop

UNSENT = (DigestStatus.WAITING, DigestStatus.CLAIMED, DigestStatus.FAILED)


def reminders_visible_to(actor: Actor) -> QuerySet[Reminder]:
    """Return the open reminders a person may see, the most urgent first: their own, an owner everybody's."""
    if not works_here(actor):
        return Reminder.objects.none()
    rows = (
        Reminder.objects.filter(status=ReminderStatus.OPEN)
        .select_related("recipient")
        .prefetch_related(Prefetch("snoozes", queryset=_open_snoozes(), to_attr="open_snoozes"))
        .order_by("due_on", "pk")
    )
    return rows if actor.is_owner else rows.filter(recipient_id=actor.user_id)


def reminders_standing(actor: Actor, *, today: date) -> list[Reminder]:
    """Return a person's own reminders whose due thing still stands.

    What was done a moment ago is left out here at once; the next run closes it for good.
    """
    rows = list(reminders_visible_to(actor).filter(recipient_id=actor.user_id))
    if not rows:
        return []
    # What is due at once has been due since its reminder, but has no day before today.
    items = due_items(today=today, until=max(today, *(row.due_on for row in rows)))
    since = {row.due_key: row.due_on for row in rows}
    due = {(item.key, item.due_on) for item in steady(items, today=today, open_since=since)}
    return [row for row in rows if (row.due_key, row.due_on) in due]


def crew_of(shop: Shop) -> Crew:
    """Return who can be told about what is due."""
    active = dict(User.objects.filter(is_active=True).values_list("pk", "roles"))
    owners = frozenset(pk for pk, roles in active.items() if Role.OWNER in roles)
    return Crew(active=frozenset(active), owners=owners, keeper=shop.equipment_keeper_id)


def due_for(user_id: int, *, shop: Shop, today: date, until: date) -> list[DueItem]:
    """Return what is due until a day and a person's business, or overdue and an owner's."""
    mine = Reminder.objects.filter(recipient_id=user_id, status=ReminderStatus.OPEN)
    since = dict(mine.values_list("due_key", "due_on"))
    items = steady(due_items(today=today, until=until), today=today, open_since=since)
    crew = crew_of(shop)
    return [item for item in items if user_id in recipients(item, _stage(item, today), crew)]


def _stage(item: DueItem, today: date) -> Stage:
    return Stage.OVERDUE if item.is_overdue(today) else Stage.COMING


def snooze_of(reminder: Reminder) -> Snooze | None:
    """Return until when a reminder is put aside; it must come from :func:`reminders_visible_to`."""
    found: list[Snooze] = reminder.open_snoozes  # type: ignore[attr-defined]
    return found[0] if found else None


@dataclass(frozen=True)
class Waiting:
    """What the navigation says of the reminders: how many wait, and the newest day that was written."""

    count: int
    newest_day: date | None

    def run_is_missing(self, shop: Shop, now: datetime) -> bool:
        """Whether a day's reminders should have been written by now and were not."""
        return is_missing(self.newest_day, day_expected(now, shop.time_zone, shop.reminders_at))


def reminders_waiting(user_id: int) -> Waiting:
    """Return how many reminders a person has not dealt with, those put aside left out; with one query."""
    mine = Reminder.objects.filter(recipient_id=user_id, status=ReminderStatus.OPEN)
    waiting = mine.exclude(Exists(_open_snoozes().filter(reminder=OuterRef("pk"))))
    count = waiting.order_by().values("recipient").annotate(count=Count("pk")).values("count")
    newest = ReminderRun.objects.order_by("-day").values("day")[:1]
    person = User.objects.filter(pk=user_id)
    return Waiting(**person.values(count=Coalesce(Subquery(count), 0), newest_day=Subquery(newest)).get())


@dataclass(frozen=True)
class RunReport:
    """How the daily run does, for the owner: the newest run, and the e-mails of a week that are not out."""

    newest: ReminderRun | None
    is_missing: bool
    unsent: list[Digest]


def run_report(shop: Shop, now: datetime) -> RunReport:
    """Return how the daily run does."""
    newest = ReminderRun.objects.order_by("-day").first()
    expected = day_expected(now, shop.time_zone, shop.reminders_at)
    unsent = Digest.objects.filter(status__in=UNSENT, day__gt=expected - timedelta(days=7))
    return RunReport(
        newest=newest,
        is_missing=is_missing(newest.day if newest else None, expected),
        unsent=list(unsent.exclude(failure="").select_related("recipient").order_by("-day", "pk")),
    )


def _open_snoozes() -> QuerySet[Snooze]:
    return Snooze.objects.filter(ended_at__isnull=True)
