"""What a person's calendar feed says now."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from urllib.parse import urljoin

from django.db import transaction
from django.db.models import F, QuerySet
from django.urls import reverse

from equipment.reminders.days import local_day
from equipment.reminders.selectors import due_for
from jobs.calendar.events import Event, due_event, visit_event
from jobs.calendar.feed import Published, calendar_text
from jobs.choices import JobStatus
from jobs.models import CalendarEntry, Job
from shopcool.people.models import User
from shopcool.shop.models import Shop

LOOKS_BACK, LOOKS_AHEAD = timedelta(days=30), timedelta(days=366)


def calendar_feed(*, user: User, shop: Shop, site: str, now: datetime) -> bytes:
    """Return the feed of a person: what is due and their business, and the cars booked for them.

    ``site`` is the address of our own pages. What was done, cancelled or given to somebody else is left out,
    and goes from the calendar with it.
    """
    today = local_day(now, shop.time_zone)
    items = due_for(user.pk, shop=shop, today=today, until=today + LOOKS_AHEAD)
    due_page = urljoin(site, reverse("equipment:reminders"))
    events = [due_event(item, url=due_page) for item in items]
    for job in _visits(user, now):
        events.append(visit_event(job, url=urljoin(site, reverse("jobs:job", args=[job.number]))))
    published = _publish(events, now)
    return calendar_text(shop.name, [(event, published[event.key]) for event in events])


def _visits(user: User, now: datetime) -> QuerySet[Job]:
    return (
        Job.objects.filter(technician=user, booked_for__range=(now - LOOKS_BACK, now + LOOKS_AHEAD))
        .exclude(status=JobStatus.CANCELLED)
        .select_related("circuit__vehicle")
        .order_by("booked_for", "pk")
    )


@transaction.atomic
def _publish(events: Sequence[Event], now: datetime) -> dict[str, Published]:
    """Note what is said about each event and return its name and count of changes.

    Two programs that ask at the same moment agree: a new event is noted once, a change counted once.
    """
    said = {event.key: event.digest for event in events}
    known = dict(CalendarEntry.objects.filter(key__in=said).values_list("key", "digest"))
    new = [CalendarEntry(key=key, digest=said[key], modified_at=now) for key in said if key not in known]
    CalendarEntry.objects.bulk_create(new, ignore_conflicts=True)
    for key, digest in known.items():
        if said[key] != digest:
            CalendarEntry.objects.filter(key=key, digest=digest).update(
                digest=said[key], sequence=F("sequence") + 1, modified_at=now
            )
    rows = CalendarEntry.objects.filter(key__in=said)
    return {row.key: Published(row.uid, row.sequence, row.modified_at) for row in rows}
