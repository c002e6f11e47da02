"""Reads of the jobs: the list of the day, one job's page, its records."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Q, QuerySet

from equipment.models import Clearance, Connection, Piece
from equipment.selectors import clearances_on_job
from jobs.choices import JobStatus, StepKind
from jobs.models import Job, StepRecord
from jobs.policies import may_see_jobs
from jobs.procedure import Blocker, StepState, StepStatus, next_step
from jobs.situation import Situation, position_of, situation_of, situations_of
from jobs.steps.answers import Answer
from jobs.steps.context import StepContext
from jobs.steps.values import Values
from shopcool.core.actors import Actor, PreferredUnits
from shopcool.shop.selectors import shop_get
from shopcool.shop.units import AS_THE_WORKSHOP
from shopcool.vehicles.models import Circuit, Vehicle


def jobs_visible_to(actor: Actor) -> QuerySet[Job]:
    """Return the jobs the person may see, newest booking first, with vehicle and technician."""
    if not may_see_jobs(actor):
        return Job.objects.none()
    return Job.objects.select_related("circuit__vehicle__customer", "technician").order_by(
        "-booked_for", "-pk"
    )


@dataclass(frozen=True)
class TodayRow:
    """One job of the day: what comes next, and what has to be cleared first."""

    job: Job
    circuit: Circuit
    vehicle: Vehicle
    next_step: StepState | None
    blockers: tuple[Blocker, ...]
    connected: tuple[str, ...]
    purges_due: tuple[str, ...]
    was_connected: bool = False
    needs_connection: bool = False

    @property
    def is_blocked(self) -> bool:
        """Whether something has to be cleared before the work goes on."""
        return bool(self.blockers)


def todays_jobs(*, actor: Actor, now: datetime) -> list[TodayRow]:
    """Return what is on today, by time: booked for today, still open from before, or closed today."""
    start, end = _day(now)
    jobs = jobs_visible_to(actor).filter(
        Q(status=JobStatus.CHECKED_IN)
        | Q(status=JobStatus.BOOKED, booked_for__lt=end)
        | Q(status=JobStatus.CLOSED, closed_at__gte=start)
    )
    return _rows(jobs, now)


def jobs_of_day(*, actor: Actor, moment: datetime, now: datetime) -> list[TodayRow]:
    """Return what was or is booked for the workshop's day of a moment, by time."""
    start, end = _day(moment)
    return _rows(jobs_visible_to(actor).filter(booked_for__gte=start, booked_for__lt=end), now)


def _rows(jobs: QuerySet[Job], now: datetime) -> list[TodayRow]:
    listed = list(jobs.order_by("booked_for", "pk"))
    return [_today_row(situation) for situation in situations_of(listed, now=now)]


@dataclass(frozen=True)
class RecordRow:
    """One step record as pages and reports show it; ``stands`` is false for one that was corrected."""

    record: StepRecord
    kind: StepKind
    position: int
    values: Values
    answer: Answer
    stands: bool
    corrects: StepRecord | None


@dataclass(frozen=True)
class JobPage:
    """Everything the page of one job shows: what is next, what blocks it, what has been done."""

    job: Job
    circuit: Circuit
    vehicle: Vehicle
    states: tuple[StepState, ...]
    next_step: StepState | None
    blockers: tuple[Blocker, ...]
    records: Mapping[StepKind, tuple[RecordRow, ...]]
    connections: tuple[Connection, ...]
    purges_due: tuple[Piece, ...]
    clearances: tuple[Clearance, ...]
    context: StepContext
    situation: Situation

    @property
    def connected(self) -> tuple[Connection, ...]:
        """What is on the vehicle now."""
        return tuple(row for row in self.connections if row.disconnected_at is None)

    @property
    def overrides(self) -> tuple[Clearance, ...]:
        """Connections made on an owner's responsibility; they follow the job everywhere."""
        return tuple(clearance for clearance in self.clearances if clearance.override_reason)

    def seen(self, kind: StepKind) -> int:
        """Return how many records of a step this page knows about."""
        return self.situation.seen(kind)


def job_page(*, job: Job, now: datetime, units: PreferredUnits = AS_THE_WORKSHOP) -> JobPage:
    """Return the page data of a job that the actor's loader has found, told in a person's units.

    The number of queries is constant.
    """
    situation = situation_of(job, now=now, units=units)
    following = next_step(situation.states)
    return JobPage(
        job=job,
        circuit=job.circuit,
        vehicle=job.circuit.vehicle,
        states=situation.states,
        next_step=following,
        blockers=_blockers(following),
        records=_by_kind(record_rows(situation)),
        connections=situation.connections,
        purges_due=situation.purges_due,
        clearances=tuple(clearances_on_job(job.number)),
        context=situation.context,
        situation=situation,
    )


def record_rows(situation: Situation) -> tuple[RecordRow, ...]:
    """Return all records of a job in the order of the work, corrections resolved."""
    by_id = {record.pk: record for record in situation.records}
    standing = {record.pk for record in situation.standing}
    rows = (
        RecordRow(
            record=record,
            kind=StepKind(record.kind),
            position=position_of(record, by_id),
            values=Values(record.values),
            answer=Answer.from_record(record.answer),
            stands=record.pk in standing,
            corrects=by_id.get(record.corrects_id) if record.corrects_id else None,
        )
        for record in situation.records
    )
    return tuple(sorted(rows, key=lambda row: (row.position, row.record.sequence)))


def _by_kind(rows: tuple[RecordRow, ...]) -> dict[StepKind, tuple[RecordRow, ...]]:
    return {kind: tuple(row for row in rows if row.kind is kind) for kind in StepKind}


def _blockers(following: StepState | None) -> tuple[Blocker, ...]:
    return following.reasons if following and following.status is StepStatus.BLOCKED else ()


def _today_row(situation: Situation) -> TodayRow:
    job = situation.job
    open_job = job.status == JobStatus.CHECKED_IN
    following = next_step(situation.states) if open_job else None
    return TodayRow(
        job=job,
        circuit=job.circuit,
        vehicle=job.circuit.vehicle,
        next_step=following,
        blockers=_blockers(following),
        connected=tuple(row.piece.code for row in situation.connections if row.disconnected_at is None),
        purges_due=situation.case.progress.purges_due,
        was_connected=situation.case.progress.was_connected,
        needs_connection=situation.state(StepKind.CONNECTION).required,
    )


def _day(now: datetime) -> tuple[datetime, datetime]:
    """Return the beginning and the end of the workshop's day."""
    zone = ZoneInfo(shop_get().time_zone)
    today = now.astimezone(zone).date()
    tomorrow = today + timedelta(days=1)
    return tuple(datetime.combine(day, time.min, zone) for day in (today, tomorrow))  # type: ignore[return-value]
