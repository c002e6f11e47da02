"""Closed jobs of a period, and what an owner must know about it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Q, QuerySet

from equipment.choices import IncidentStatus
from equipment.selectors import incidents_visible_to, overrides_visible_to
from jobs.choices import JobStatus
from jobs.models import Job, StepRecord
from jobs.selectors import jobs_visible_to
from shopcool.core.actors import Actor
from shopcool.vehicles.selectors import vehicles_matching, vehicles_visible_to


@dataclass(frozen=True)
class Period:
    """Whole days at the workshop, both included."""

    first: date
    last: date
    zone: ZoneInfo

    @property
    def start(self) -> datetime:
        """The first moment of the period."""
        return datetime.combine(self.first, time.min, self.zone)

    @property
    def end(self) -> datetime:
        """The first moment after the period."""
        return datetime.combine(self.last + timedelta(days=1), time.min, self.zone)


@dataclass(frozen=True)
class Totals:
    """What happened in a period, and what is still open today."""

    closed: int
    overrides: int
    incidents: int
    open_incidents: int
    step_records: int


def closed_jobs(*, actor: Actor, period: Period, query: str = "") -> QuerySet[Job]:
    """Return the jobs closed in a period, newest first, perhaps only those that the query names."""
    jobs = jobs_visible_to(actor).filter(
        status=JobStatus.CLOSED, closed_at__gte=period.start, closed_at__lt=period.end
    )
    if query.strip():
        cars = vehicles_matching(vehicles_visible_to(actor), query).order_by().values("pk")
        jobs = jobs.filter(Q(number__icontains=query.strip()) | Q(circuit__vehicle__in=cars))
    return jobs.order_by("-closed_at", "-pk")


def totals(*, actor: Actor, period: Period) -> Totals:
    """Return the numbers of a period."""
    overrides, incidents = overrides_visible_to(actor), incidents_visible_to(actor)
    return Totals(
        closed=closed_jobs(actor=actor, period=period).count(),
        overrides=overrides.filter(occurred_at__gte=period.start, occurred_at__lt=period.end).count(),
        incidents=incidents.filter(raised_at__gte=period.start, raised_at__lt=period.end).count(),
        open_incidents=incidents.filter(status=IncidentStatus.OPEN).count(),
        step_records=StepRecord.objects.filter(
            recorded_at__gte=period.start, recorded_at__lt=period.end
        ).count(),
    )
