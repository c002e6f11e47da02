"""Telling a past: the services are called with the times of the story."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import uuid4

from equipment.models import Piece
from equipment.purging import PurgeReadings
from equipment.services.connecting import ConnectionOutcome
from equipment.services.purges import PurgeOutcome, purge_record
from jobs.choices import ServiceKind, StepKind
from jobs.models import Job
from jobs.services.booking import Booking, job_book
from jobs.services.closing import job_close
from jobs.services.connecting import job_connect, job_disconnect
from jobs.services.steps import step_record
from jobs.services.visits import job_check_in
from jobs.situation import situation_of
from shopcool.core.actors import Actor
from shopcool.engineering.quantities import Kind, parse
from shopcool.vehicles.models import Circuit

Raw = dict[str, Any]
PURGE = PurgeReadings(circulated_kg=0.6, duration_s=420.0, final_vacuum_pa=1_200.0, completed=True)
PURGE_TYPED = {
    "circulated": parse("600 g", Kind.MASS, default_unit="g").as_record(),
    "duration": parse("7 min", Kind.DURATION, default_unit="min").as_record(),
    "final_vacuum": parse(
        "12 mbar", Kind.PRESSURE, default_unit="mbar", default_basis="absolute"
    ).as_record(),
}


@dataclass
class Story:
    """The clock of the story and the people and things in it."""

    now: datetime
    people: dict[str, Actor]
    pieces: dict[str, Piece]
    circuits: dict[str, Circuit]

    def go_to(self, moment: datetime) -> None:
        """Move the clock forward to a moment."""
        self.now = max(moment, self.now)

    def later(self, minutes: float = 6) -> datetime:
        """Let some minutes pass and return the time."""
        self.now += timedelta(minutes=minutes)
        return self.now

    def book(
        self,
        car: str,
        service: ServiceKind,
        complaint: str,
        *,
        bay: str = "",
        technician: str = "anneke",
        at: datetime | None = None,
    ) -> Job:
        """Let the front desk book a car, for half an hour from now unless a time is given."""
        booking = Booking(
            service=service,
            booked_for=at or self.now + timedelta(minutes=30),
            complaint=complaint,
            bay=bay,
            technician_id=self.people[technician].user_id,
        )
        return job_book(
            actor=self.people["lena"], circuit=self.circuits[car], booking=booking, now=self.later(1)
        )

    def check_in(self, job: Job) -> Job:
        """Take a booked car into the workshop."""
        return job_check_in(actor=self.people["lena"], job=job, now=self.later(15))

    def purge(self, machine: str, *codes: str, actor: str = "anneke", job: Job | None = None) -> PurgeOutcome:
        """Run a line purge through a machine."""
        return purge_record(
            actor=self.people[actor],
            machine_id=self.pieces[machine].pk,
            piece_ids=[self.pieces[code].pk for code in codes],
            readings=PURGE,
            occurred_at=(now := self.later(12)),
            now=now,
            job_number=job.number if job else "",
            typed=PURGE_TYPED,
        )

    def step(self, job: Job, kind: StepKind, raw: Raw, actor: str = "anneke") -> None:
        """Record one step as a technician would type it."""
        step_record(
            actor=self.people[actor],
            job=job,
            kind=kind,
            raw=raw,
            seen=situation_of(_fresh(job), now=self.now).seen(kind),
            idempotency_key=uuid4(),
            now=self.later(),
        )

    def connect(
        self, job: Job, codes: Sequence[str], actor: str = "anneke", override_reason: str = ""
    ) -> ConnectionOutcome:
        """Ask for a clearance and connect."""
        return job_connect(
            actor=self.people[actor],
            job=_fresh(job),
            piece_ids=[self.pieces[code].pk for code in codes],
            now=self.later(),
            override_reason=override_reason,
        )

    def disconnect(self, job: Job, actor: str = "anneke") -> None:
        """Take everything off the car."""
        job_disconnect(actor=self.people[actor], job=_fresh(job), now=self.later())

    def close(self, job: Job, actor: str = "anneke") -> Job:
        """Close the job with a date for the next service."""
        due = self.now.date() + timedelta(days=2 * 365)
        raw = {"next_service_on": due.isoformat(), "customer_told": "yes"}
        return job_close(
            actor=self.people[actor], job=_fresh(job), raw=raw, idempotency_key=uuid4(), now=self.later()
        )


def _fresh(job: Job) -> Job:
    return Job.objects.select_related("circuit__vehicle").get(pk=job.pk)
