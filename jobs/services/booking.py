"""Book a visit of a vehicle."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import connection, transaction
from django.utils.translation import gettext as _

from equipment.selectors import person_facts, today_at
from jobs.choices import ServiceKind
from jobs.errors import BookingInvalid
from jobs.models import Job
from jobs.policies import may_book
from shopcool.core.actors import Actor
from shopcool.core.errors import NotAllowed, require
from shopcool.people.models import User
from shopcool.shop.selectors import shop_get
from shopcool.vehicles.models import Circuit

#: A vehicle that is standing at the door is booked for a moment ago.
OLDEST_BOOKING = timedelta(days=1)
FARTHEST_BOOKING = timedelta(days=366)


@dataclass(frozen=True)
class Booking:
    """What is asked when a vehicle is booked in."""

    service: ServiceKind
    booked_for: datetime
    complaint: str = ""
    affects_driving: bool = False
    bay: str = ""
    technician_id: int | None = None


@transaction.atomic
def job_book(*, actor: Actor, circuit: Circuit, booking: Booking, now: datetime) -> Job:
    """Book a visit of a vehicle for one of its circuits and return the new job.

    Raises NotAllowed, and BookingInvalid for a time far from now, for an insulation check of a circuit that
    has no high voltage, and for lost drive with a technician who is not qualified for high voltage.
    """
    require(may_book(actor))
    if actor.user_id is None:
        raise NotAllowed(_("Only a person books a vehicle in."))
    _check(circuit, booking, now)
    return Job.objects.create(
        number=_next_number(),
        circuit=circuit,
        service=booking.service,
        complaint=booking.complaint.strip(),
        affects_driving=booking.affects_driving,
        bay=booking.bay.strip(),
        technician_id=booking.technician_id,
        booked_for=booking.booked_for,
        booked_by_id=actor.user_id,
    )


def _check(circuit: Circuit, booking: Booking, now: datetime) -> None:
    if not now - OLDEST_BOOKING <= booking.booked_for <= now + FARTHEST_BOOKING:
        sentence = _("Book a vehicle for today or for a day of the coming year.")
        raise BookingInvalid(sentence, field="booked_for")
    if booking.service is ServiceKind.INSULATION and not circuit.is_high_voltage:
        sentence = _("The compressor of this circuit has no high voltage: there is no insulation to check.")
        raise BookingInvalid(sentence, field="service")
    if booking.affects_driving and circuit.is_high_voltage and booking.technician_id is not None:
        _check_qualified(booking.technician_id, booking.booked_for)


def _check_qualified(technician_id: int, booked_for: datetime) -> None:
    technician = User.objects.get(pk=technician_id).as_actor()
    if person_facts(technician, today_at(shop_get(), booked_for)).high_voltage_competence:
        return
    sentence = _("%(name)s has no high-voltage competence in date, and this car needs somebody who has.")
    raise BookingInvalid(sentence % {"name": technician.name}, field="technician")


def _next_number() -> str:
    with connection.cursor() as cursor:
        cursor.execute("SELECT nextval('jobs_job_number')")
        return f"J-{cursor.fetchone()[0]}"
