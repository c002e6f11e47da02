"""Keeping vehicles: plates, identification numbers, customers."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import datetime
from uuid import UUID

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from shopcool.core.actors import Actor
from shopcool.core.errors import Conflict, DomainError, require
from shopcool.engineering.errors import Refusal
from shopcool.engineering.vin import Verdict, check_vin
from shopcool.vehicles.data import FIRST_MODEL_YEAR, CircuitData, CustomerData, VehicleData
from shopcool.vehicles.models import Customer, Vehicle
from shopcool.vehicles.policies import may_keep_vehicles
from shopcool.vehicles.selectors import vehicles_with_plate
from shopcool.vehicles.services.circuits import circuit_create
from shopcool.vehicles.services.customers import customer_keep


class VinSuggested(DomainError):
    """The number has letters that no VIN uses; ``details["suggestion"]`` waits for a person's yes."""

    code = "vin_suggestion"


class VinTaken(Conflict):
    """The number belongs to the vehicle ``details["vehicle_id"]``."""

    code = "vin_taken"


class PlateKnown(Conflict):
    """The vehicle ``details["vehicle_id"]`` has this plate; say ``same_registration`` if there are two."""

    code = "plate_known"


@transaction.atomic
def vehicle_create(
    *,
    actor: Actor,
    data: VehicleData,
    circuit: CircuitData,
    now: datetime,
    submission_key: UUID | None = None,
) -> Vehicle:
    """Return a new vehicle with its first circuit; a form sent twice returns the vehicle of the first time.

    Raises NotAllowed, VinSuggested, VinTaken, PlateKnown, DomainError and the Refusals of the label.
    """
    require(may_keep_vehicles(actor))
    earlier = Vehicle.objects.filter(submission_key=submission_key).first() if submission_key else None
    if earlier is not None:
        return earlier
    vehicle = Vehicle(submission_key=submission_key)
    _fill(vehicle, actor, data, now)
    circuit_create(actor=actor, vehicle_id=vehicle.pk, data=circuit, now=now)
    return vehicle


@transaction.atomic
def vehicle_update(*, actor: Actor, vehicle_id: int, data: VehicleData, now: datetime) -> Vehicle:
    """Return the vehicle with its new data; raises like :func:`vehicle_create`."""
    require(may_keep_vehicles(actor))
    vehicle = Vehicle.objects.select_for_update().get(pk=vehicle_id)
    _fill(vehicle, actor, data, now)
    return vehicle


def _fill(vehicle: Vehicle, actor: Actor, data: VehicleData, now: datetime) -> None:
    columns = _checked_columns(data, now)
    vin, vin_reason = _checked_vin(data)
    if not data.same_registration:
        _refuse_known_plate(vehicle, columns.registration)
    vehicle.vin, vehicle.vin_reason = vin, vin_reason
    for name, value in asdict(columns).items():
        setattr(vehicle, name, value)
    vehicle.customer = _customer(actor, data.customer, now)
    try:
        with transaction.atomic():
            vehicle.save()
    except IntegrityError as error:
        raise _taken(vehicle) from error


@dataclass(frozen=True)
class _Columns:
    registration: str
    make: str
    model: str
    model_year: int | None


def _checked_columns(data: VehicleData, now: datetime) -> _Columns:
    year = data.model_year
    if year is not None and not FIRST_MODEL_YEAR <= year <= now.year + 2:
        sentence = _("A model year from %(first)d to %(last)d, please.")
        limits = {"first": FIRST_MODEL_YEAR, "last": now.year + 2}
        raise DomainError(sentence % limits, code="model_year", field="model_year")
    return _Columns(
        registration=_text(data.registration.upper(), "registration", 20),
        make=_text(data.make, "make", 60),
        model=_text(data.model, "model", 60),
        model_year=year,
    )


def _text(value: str, field: str, longest: int) -> str:
    text = " ".join(value.split())
    if not 1 <= len(text) <= longest:
        sentence = _("Write 1 to %(longest)d characters here.") % {"longest": longest}
        raise DomainError(sentence, code="length", field=field)
    return text


def _checked_vin(data: VehicleData) -> tuple[str, str]:
    """Return the number to store and why it is unusual; a wrong check digit is no reason to refuse."""
    if not data.vin.strip():
        return "", ""
    reason = " ".join(data.vin_reason.split())
    try:
        result = check_vin(data.vin, reason=reason)
    except Refusal as refusal:
        field = "vin_reason" if refusal.field == "reason" else "vin"
        raise DomainError(refusal.message, code=refusal.code, field=field) from refusal
    if not result.accepted:
        sentence = " ".join(notice.message for notice in result.notices)
        raise VinSuggested(sentence, field="vin", details={"suggestion": result.suggestion})
    return result.vin, reason if result.verdict is Verdict.OLD_NUMBER else ""


def _refuse_known_plate(vehicle: Vehicle, registration: str) -> None:
    known = vehicles_with_plate(registration).exclude(pk=vehicle.pk).first()
    if known is None:
        return
    sentence = _("%(vehicle)s has this plate already. Open it, or say that this is another vehicle.")
    raise PlateKnown(sentence % {"vehicle": known}, field="registration", details={"vehicle_id": known.pk})


def _customer(actor: Actor, data: CustomerData | None, now: datetime) -> Customer | None:
    return customer_keep(actor=actor, data=data, now=now) if data is not None else None


def _taken(vehicle: Vehicle) -> Conflict:
    known = Vehicle.objects.filter(vin=vehicle.vin).exclude(pk=vehicle.pk).first() if vehicle.vin else None
    if known is None:
        return Conflict(_("This form is being recorded already. Open the list of vehicles."))
    sentence = _("This number belongs to %(vehicle)s.") % {"vehicle": known}
    return VinTaken(sentence, field="vin", details={"vehicle_id": known.pk})
