"""The list of a day: cars by time, each with the one line that says what it waits for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Count
from django.db.models.functions import TruncDate
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format, time_format
from django.utils.translation import gettext as _

from equipment.pages.words import moment_words
from jobs.choices import JobStatus
from jobs.equipping import Equipping, equipping_of
from jobs.models import Job
from jobs.pages.head import drive_word, gas_of, oil_of
from jobs.pages.ways import Way, job_url, label_url, purge_url, way_of
from jobs.policies import may_cancel, may_check_in
from jobs.selectors import TodayRow, jobs_of_day, jobs_visible_to, todays_jobs
from shopcool.core.actors import Actor
from shopcool.shop.models import Shop

DAYS_BEFORE, DAYS_AFTER = 1, 4


@dataclass(frozen=True)
class Line:
    """What a car waits for, by shape and word, and perhaps the way out."""

    shape: str
    text: str
    way: Way | None = None


@dataclass(frozen=True)
class Visit:
    """One car of the day."""

    number: str
    url: str
    clock: str
    plate: str
    car: str
    customer: str
    drive: str
    is_high_voltage: bool
    gas: str
    oil: str
    service: str
    place: str
    person: str
    status: str
    line: Line
    check_in_url: str
    cancel_url: str
    is_over: bool
    affects_driving: bool


@dataclass(frozen=True)
class DayTab:
    """Another day, with the number of cars that are still expected or in the workshop."""

    label: str
    url: str
    current: bool
    count: int


@dataclass(frozen=True)
class Day:
    """The list of one day."""

    heading: str
    tabs: tuple[DayTab, ...]
    visits: tuple[Visit, ...]
    is_today: bool


def day_url(moment: datetime | date) -> str:
    """Return the list of the workshop's day of a moment."""
    day = timezone.localtime(moment).date() if isinstance(moment, datetime) else moment
    return f"{reverse('jobs:today')}?day={day.isoformat()}"


def day_shown(*, actor: Actor, shop: Shop, day: date | None, now: datetime) -> Day:
    """Return the list of a day, of today without one; the number of queries is the same for any list."""
    zone = ZoneInfo(shop.time_zone)
    today = now.astimezone(zone).date()
    day = day or today
    if day == today:
        rows = todays_jobs(actor=actor, now=now)
    else:
        rows = jobs_of_day(actor=actor, moment=datetime.combine(day, time(12), zone), now=now)
    equipping = equipping_of([row.circuit for row in rows], today)
    return Day(
        heading=_("Today") if day == today else date_format(day, "l j F"),
        tabs=_tabs(actor, day, today, zone),
        visits=tuple(_visit(row, actor, equipping, now) for row in sorted(rows, key=_turn)),
        is_today=day == today,
    )


def _turn(row: TodayRow) -> bool:
    """Cars that drive badly, too, come first while they wait; all others keep the order of their times."""
    return _is_over(row.job) or not row.job.affects_driving


def _is_over(job: Job) -> bool:
    return job.status in {JobStatus.CLOSED, JobStatus.CANCELLED}


def _tabs(actor: Actor, day: date, today: date, zone: ZoneInfo) -> tuple[DayTab, ...]:
    days = {today + timedelta(days=offset) for offset in range(-DAYS_BEFORE, DAYS_AFTER + 1)} | {day}
    shown = sorted(days)
    start = datetime.combine(shown[0], time.min, zone)
    end = datetime.combine(shown[-1] + timedelta(days=1), time.min, zone)
    open_jobs = jobs_visible_to(actor).filter(
        booked_for__gte=start, booked_for__lt=end, status__in=[JobStatus.BOOKED, JobStatus.CHECKED_IN]
    )
    by_day = open_jobs.order_by().annotate(on=TruncDate("booked_for", tzinfo=zone)).values_list("on")
    counts = dict(by_day.annotate(number=Count("pk")))
    return tuple(
        DayTab(_day_words(one, today), day_url(one), one == day, counts.get(one, 0)) for one in shown
    )


def _day_words(day: date, today: date) -> str:
    near = {-1: _("Yesterday"), 0: _("Today"), 1: _("Tomorrow")}
    return near.get((day - today).days) or date_format(day, "D j M")


def _visit(row: TodayRow, actor: Actor, equipping: Equipping, now: datetime) -> Visit:
    job, vehicle = row.job, row.vehicle
    booked = job.status == JobStatus.BOOKED
    number = [job.number]
    return Visit(
        number=job.number,
        url=job_url(job.number),
        clock=_clock(job, now),
        plate=vehicle.registration,
        car=f"{vehicle.make} {vehicle.model}",
        customer=str(vehicle.customer or ""),
        drive=drive_word(row.circuit),
        is_high_voltage=row.circuit.is_high_voltage,
        gas=gas_of(row.circuit),
        oil=oil_of(row.circuit),
        service=job.get_service_display(),
        place=job.place,
        person=str(job.technician or ""),
        status=job.get_status_display(),
        line=_line(row, equipping, now),
        check_in_url=reverse("jobs:check_in", args=number) if booked and may_check_in(actor) else "",
        cancel_url=reverse("jobs:cancel", args=number) if booked and may_cancel(actor) else "",
        is_over=_is_over(job),
        affects_driving=job.affects_driving,
    )


def _clock(job: Job, now: datetime) -> str:
    """Return the time of the booking; an earlier day is named with it."""
    booked = timezone.localtime(job.booked_for)
    if booked.date() < timezone.localtime(now).date() and not job.closed_at:
        return date_format(booked, "D j M")
    return time_format(booked, "H:i")


def _line(row: TodayRow, equipping: Equipping, now: datetime) -> Line:
    job = row.job
    if job.status == JobStatus.CLOSED:
        return Line("done", _("Closed %(moment)s") % {"moment": moment_words(job.closed_at or now, now)})
    if job.status == JobStatus.CANCELLED:
        return Line("skipped", _("Cancelled"))
    if row.is_blocked:
        return Line("blocked", row.blockers[0].sentence, way_of(row.blockers[0], job))
    missing = () if row.connected else _missing_data(row)
    if missing:
        sentence = _("Not known yet: %(what)s") % {"what": ", ".join(missing)}
        return Line("unknown", sentence, Way(_("Enter the label data"), label_url(job)))
    if row.purges_due and not row.connected:
        sentence = _("Needs the closing purge of %(pieces)s") % {"pieces": ", ".join(row.purges_due)}
        return Line("purge", sentence)
    wanting = equipping.wanting(row.circuit) if _is_before_connection(row) else None
    if wanting is not None:
        way = None
        if wanting.piece_ids:
            way = Way(_("Purge it"), purge_url(job.number, wanting.piece_ids[:1]))
        return Line("later" if wanting.is_busy else "warning", wanting.sentence, way)
    return _ready(row, now)


def _ready(row: TodayRow, now: datetime) -> Line:
    if row.next_step is not None:
        return Line("now", _("Next: %(step)s") % {"step": row.next_step.kind.label})
    if row.job.booked_for < now:
        waited = moment_words(row.job.booked_for, now)
        return Line("later", _("Expected since %(moment)s") % {"moment": waited})
    return Line("good", _("Ready for it"))


def _is_before_connection(row: TodayRow) -> bool:
    return not row.connected and not row.was_connected and row.needs_connection


def _missing_data(row: TodayRow) -> Sequence[str]:
    known = {
        _("refrigerant"): gas_of(row.circuit),
        _("oil"): oil_of(row.circuit),
        _("label charge"): row.circuit.charge_kg,
    }
    return [word for word, value in known.items() if not value]
