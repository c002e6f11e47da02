"""The day's reminders: written once, whoever runs and however often; settled when the work is done."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db import transaction

from equipment.due import DueItem
from equipment.due_selectors import due_items
from equipment.reminders.days import day_to_run, local_day
from equipment.reminders.models import Reminder, ReminderRun, ReminderStatus, Snooze
from equipment.reminders.planning import Need, Planned, plan, steady
from equipment.reminders.selectors import crew_of
from equipment.reminders.stages import Notice, Stage
from equipment.services.digests import digests_open, digests_standing
from shopcool.shop.models import Shop
from shopcool.shop.selectors import shop_get

BATCH = 1000
_LONGEST_TEXT = 400


@dataclass(frozen=True)
class RunOutcome:
    """What a run did; ``day`` is None when the day's work was done before or its time has not come."""

    day: date | None
    reminders: int
    digests: int
    done: int


@transaction.atomic
def reminders_run(
    *, now: datetime, worker: str, deliver: Callable[[int], None], early: bool = False
) -> RunOutcome:
    """Close what is done, write the reminders of the workshop's day once, and hand digests to ``deliver``.

    It may be called at any time, by several workers at once: the row of the workshop is locked, and what
    was written is looked up in the database, not remembered. ``deliver`` gets the number of each digest
    that has to be sent, once the transaction is certain. ``early`` does not wait for the reminder time.
    """
    shop = Shop.objects.select_for_update().get(pk=shop_get().pk)
    today = local_day(now, shop.time_zone)
    items = _items(shop, today)
    done = _settle(items, now)
    day = today if early else day_to_run(now, shop.time_zone, shop.reminders_at)
    if day is None or ReminderRun.objects.filter(day=day).exists():
        outcome = RunOutcome(None, 0, 0, done)
    else:
        outcome = RunOutcome(day, _write(items, shop, day, now), digests_open(day=day, now=now), done)
        ReminderRun.objects.create(
            day=day,
            worker=worker[:200],
            finished_at=now,
            reminders=outcome.reminders,
            digests=outcome.digests,
        )
    _hand_over(digests_standing(now=now), deliver)
    return outcome


def _items(shop: Shop, today: date) -> list[DueItem]:
    """Return what is due as far ahead as anybody is reminded, or was before the settings changed."""
    ahead = today + timedelta(days=max(shop.reminder_days, default=0))
    days = dict(Reminder.objects.filter(status=ReminderStatus.OPEN).values_list("due_key", "due_on"))
    items = due_items(today=today, until=max([ahead, *days.values()]))
    return steady(items, today=today, open_since=days)


def _settle(items: list[DueItem], now: datetime) -> int:
    """Close the reminders whose due thing is done, or due on another day now."""
    due = {(item.key, item.due_on) for item in items}
    rows = Reminder.objects.filter(status=ReminderStatus.OPEN).values_list("pk", "due_key", "due_on")
    done = [pk for pk, key, due_on in rows if (key, due_on) not in due]
    Snooze.objects.filter(reminder__in=done, ended_at__isnull=True).update(ended_at=now)
    return Reminder.objects.filter(pk__in=done).update(status=ReminderStatus.DONE, closed_at=now)


def _write(items: list[DueItem], shop: Shop, day: date, now: datetime) -> int:
    """Write what is missing on a day and return how many people's needs were brought to mind."""
    _wake(day, now)
    written, standing = _written(items)
    planned = plan(
        items,
        today=day,
        days_ahead=shop.reminder_days,
        crew=crew_of(shop),
        written=written,
        resting=_resting(),
    )
    newest = [each for each in planned if each.is_newest]
    replaced = [standing[each.need] for each in newest if each.need in standing]
    Reminder.objects.filter(pk__in=replaced).update(status=ReminderStatus.SUPERSEDED, closed_at=now)
    rows = [_row(each, now) for each in planned]
    Reminder.objects.bulk_create(rows, batch_size=BATCH, ignore_conflicts=True)
    return len(newest)


def _wake(day: date, now: datetime) -> None:
    """End the snoozes whose day has come; their reminders are told once more."""
    over = Snooze.objects.filter(ended_at__isnull=True, until__lte=day)
    Reminder.objects.filter(pk__in=list(over.values_list("reminder_id", flat=True))).update(digest=None)
    over.update(ended_at=now)


def _written(items: list[DueItem]) -> tuple[set[tuple[Need, Notice]], dict[Need, int]]:
    """Return which notices exist of the due things, and the open reminder of each need."""
    columns = ("pk", "due_key", "due_on", "recipient_id", "stage", "days_ahead", "status")
    rows = Reminder.objects.filter(due_key__in={item.key for item in items}).values_list(*columns)
    written: set[tuple[Need, Notice]] = set()
    standing: dict[Need, int] = {}
    for pk, due_key, due_on, recipient_id, stage, days_ahead, status in rows:
        need = Need(due_key, due_on, recipient_id)
        written.add((need, Notice(Stage(stage), days_ahead)))
        if status == ReminderStatus.OPEN:
            standing[need] = pk
    return written, standing


def _resting() -> set[Need]:
    rows = Snooze.objects.filter(ended_at__isnull=True).values_list(
        "reminder__due_key", "reminder__due_on", "reminder__recipient_id"
    )
    return {Need(*row) for row in rows}


def _row(planned: Planned, now: datetime) -> Reminder:
    item, is_open = planned.item, planned.is_newest
    return Reminder(
        due_key=item.key,
        due_on=item.due_on,
        kind=item.kind,
        stage=planned.notice.stage,
        days_ahead=planned.notice.days_ahead,
        what=item.what[:_LONGEST_TEXT],
        blocks=item.blocks,
        piece_code=item.piece_code,
        lot_code=item.lot_code,
        person_id=item.user_id,
        recipient_id=planned.recipient_id,
        status=ReminderStatus.OPEN if is_open else ReminderStatus.SUPERSEDED,
        written_at=now,
        closed_at=None if is_open else now,
    )


def _hand_over(digest_ids: list[int], deliver: Callable[[int], None]) -> None:
    def hand_over_digests() -> None:
        for digest_id in digest_ids:
            deliver(digest_id)

    # A queue that is down must not undo the day: what was not handed over is taken up by the next run.
    transaction.on_commit(hand_over_digests, robust=True)
