"""Reads of vehicles, restricted to what the actor may see."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import reduce
from operator import and_

from django.db.models import F, Func, Prefetch, Q, QuerySet, Value
from django.db.models.functions import Upper

from shopcool.core.actors import Actor
from shopcool.core.quantities import exact_quantity, stored_quantity
from shopcool.engineering.quantities import Kind, Quantity
from shopcool.engineering.results import Notice
from shopcool.vehicles.choices import Drive
from shopcool.vehicles.data import CircuitData
from shopcool.vehicles.label import LabelCharge
from shopcool.vehicles.models import Circuit, CircuitEntry, Vehicle
from shopcool.vehicles.notices import Missing, circuit_notices, missing_data, vin_notices
from shopcool.vehicles.policies import may_see_vehicles

HIGH_VOLTAGE_DRIVES = tuple(drive for drive in Drive if drive.is_high_voltage)
#: What people leave out or put in between when they type a plate, a number or a code.
_BETWEEN = r"[^[:alnum:]]+"


def vehicles_visible_to(actor: Actor) -> QuerySet[Vehicle]:
    """Return the vehicles the actor may see, newest first, with customer and circuits."""
    if not may_see_vehicles(actor):
        return Vehicle.objects.none()
    circuits = Prefetch("circuits", queryset=Circuit.objects.order_by("pk"))
    vehicles = Vehicle.objects.select_related("customer").prefetch_related(circuits)
    return vehicles.order_by("-created_at", "-pk")


def circuits_visible_to(actor: Actor) -> QuerySet[Circuit]:
    """Return the circuits the actor may see, with their vehicle."""
    return Circuit.objects.filter(vehicle__in=vehicles_visible_to(actor).order_by()).select_related(
        "vehicle__customer"
    )


def vehicles_matching(vehicles: QuerySet[Vehicle], query: str) -> QuerySet[Vehicle]:
    """Return those vehicles whose plate, VIN, make, model or customer the query names.

    Case, spaces and hyphens don't matter; every word has to be found somewhere.
    """
    words = query.split()[:8]
    if not words:
        return vehicles
    whole = folded(query)
    in_one_piece = Q(plate__contains=whole) | Q(vin__contains=whole) if whole else Q(pk__in=[])
    everywhere = reduce(and_, (_anywhere(word) for word in words))
    return vehicles.annotate(plate=bare("registration")).filter(in_one_piece | everywhere)


def vehicles_with_plate(registration: str) -> QuerySet[Vehicle]:
    """Return the vehicles with exactly this plate, however it is spaced."""
    return Vehicle.objects.annotate(plate=bare("registration")).filter(plate=folded(registration))


def _anywhere(word: str) -> Q:
    found = Q(make__icontains=word) | Q(model__icontains=word) | Q(customer__name__icontains=word)
    bare = folded(word)
    return found | Q(plate__contains=bare) | Q(vin__contains=bare) if bare else found


def folded(text: str) -> str:
    """Return what was typed with nothing but its letters and digits, in capitals."""
    return "".join(character for character in text.upper() if character.isalnum())


def bare(field: str) -> Upper:
    """Return a column as :func:`folded` makes what was typed, to compare the two."""
    return Upper(Func(F(field), Value(_BETWEEN), Value(""), Value("g"), function="REGEXP_REPLACE"))


def circuit_data(circuit: Circuit) -> CircuitData:
    """Return a circuit as its services take it, so that one field can change and the others stay."""
    charge = None
    if circuit.charge_kg is not None:
        charge = LabelCharge(circuit.charge_kg, circuit.tolerance_kg, circuit.charge_typed)
    same = (
        "drive", "name", "refrigerant", "lubricant", "lubricant_grade", "metering",
        "high_voltage_wait_minutes", "label_source", "oil_rule", "no_dye", "dedicated_hoses", "maker_source",
    )  # fmt: skip
    return CircuitData(
        **{name: getattr(circuit, name) for name in same},
        charge=charge,
        oil=_as_entered(circuit.oil_m3, circuit.oil_typed, Kind.VOLUME, "ml"),
        working_voltage=_as_entered(circuit.working_voltage_v, "", Kind.VOLTAGE, "V"),
        search_pressure=_as_entered(
            circuit.search_pressure_pa, circuit.search_pressure_typed, Kind.PRESSURE, "kPa"
        ),
        search_temperature=_as_entered(
            circuit.search_temperature_k, circuit.search_temperature_typed, Kind.TEMPERATURE, "°C"
        ),
    )


def _as_entered(si: float | None, typed: str, kind: Kind, unit: str) -> Quantity | None:
    if si is None:
        return None
    entered = stored_quantity(typed, kind)
    return replace(entered, si=si) if entered else exact_quantity(si, kind, unit)


@dataclass(frozen=True)
class CircuitSheet:
    """A circuit with what is odd about it, what is missing, and who entered what."""

    circuit: Circuit
    notices: list[Notice]
    missing: list[Missing]
    entries: list[CircuitEntry]


@dataclass(frozen=True)
class VehicleSheet:
    """Everything the page of a vehicle shows."""

    vehicle: Vehicle
    notices: list[Notice]
    circuits: list[CircuitSheet]
    same_plate: list[Vehicle]


def vehicle_sheet(vehicle: Vehicle) -> VehicleSheet:
    """Return what the page of a vehicle from :func:`vehicles_visible_to` shows."""
    circuits = list(vehicle.circuits.all())
    entries: dict[int, list[CircuitEntry]] = {circuit.pk: [] for circuit in circuits}
    for entry in CircuitEntry.objects.filter(circuit__in=circuits).order_by("-sequence"):
        entries[entry.circuit_id].append(entry)
    return VehicleSheet(
        vehicle=vehicle,
        notices=vin_notices(vehicle),
        circuits=[
            CircuitSheet(one, circuit_notices(one), missing_data(one), entries[one.pk]) for one in circuits
        ],
        same_plate=list(vehicles_with_plate(vehicle.registration).exclude(pk=vehicle.pk).order_by("pk")),
    )
