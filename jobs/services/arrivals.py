"""Quick booking: the vehicle, if it is new, and its visit in one step."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from django.db import transaction

from jobs.choices import JobStatus
from jobs.models import Job
from jobs.policies import may_book
from jobs.services.booking import Booking, job_book
from shopcool.core.actors import Actor
from shopcool.core.errors import require
from shopcool.vehicles.data import CircuitData, VehicleData
from shopcool.vehicles.models import Circuit
from shopcool.vehicles.services.vehicles import vehicle_create


@transaction.atomic
def visit_book(*, actor: Actor, circuit: Circuit, booking: Booking, now: datetime) -> Job:
    """Book a known vehicle in; the same booking sent twice is one job. Raises what booking a job raises."""
    require(may_book(actor))
    Circuit.objects.select_for_update().get(pk=circuit.pk)
    same = Job.objects.filter(
        circuit=circuit,
        service=booking.service,
        booked_for=booking.booked_for,
        status__in=[JobStatus.BOOKED, JobStatus.CHECKED_IN],
    )
    return same.first() or job_book(actor=actor, circuit=circuit, booking=booking, now=now)


@transaction.atomic
def arrival_book(
    *,
    actor: Actor,
    vehicle: VehicleData,
    circuit: CircuitData,
    booking: Booking,
    submission_key: UUID | None,
    now: datetime,
) -> Job:
    """Keep a new vehicle with what is known of its circuit, and book it in.

    Neither stays when the other is refused. Raises what keeping a vehicle and booking a job raise.
    """
    kept = vehicle_create(actor=actor, data=vehicle, circuit=circuit, now=now, submission_key=submission_key)
    return visit_book(actor=actor, circuit=kept.circuits.order_by("pk")[0], booking=booking, now=now)
