"""Keeping circuits: what the label says, who entered it, and when."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from shopcool.core.actors import Actor
from shopcool.core.errors import Conflict, DomainError, require
from shopcool.core.quantities import stored_text
from shopcool.core.records import append
from shopcool.engineering.errors import Refusal
from shopcool.engineering.oil_balance import parse_rule
from shopcool.vehicles.choices import Drive, Lubricant, Metering, Refrigerant
from shopcool.vehicles.data import LONGEST_WAIT_MINUTES, CircuitData
from shopcool.vehicles.models import Circuit, CircuitEntry, Vehicle
from shopcool.vehicles.policies import may_change_circuit, may_keep_vehicles

#: Who is told, inside the transaction, that a circuit's data changed: packages that know of its use add
#: themselves when they start, because vehicles know nothing of what stands on them.
WATCHERS: list[Callable[[Actor, Circuit, datetime], None]] = []


class CircuitKnown(Conflict):
    """The vehicle has a circuit of this name."""

    code = "circuit_known"


@transaction.atomic
def circuit_create(*, actor: Actor, vehicle_id: int, data: CircuitData, now: datetime) -> Circuit:
    """Return a new circuit of a vehicle, with a record of what was entered.

    Raises NotAllowed, CircuitKnown, and DomainError for data that contradict themselves.
    """
    require(may_keep_vehicles(actor))
    vehicle = Vehicle.objects.select_for_update().get(pk=vehicle_id)
    return _save(Circuit(vehicle=vehicle), actor, data, now)


@transaction.atomic
def circuit_update(*, actor: Actor, circuit_id: int, data: CircuitData, now: datetime) -> Circuit:
    """Return the circuit with its new data, with a record of what was entered; raises like its creation.

    Clearances given before keep the data they were decided with; whoever watches circuits is told.
    """
    require(may_change_circuit(actor))
    vehicle_id = Circuit.objects.values_list("vehicle_id", flat=True).get(pk=circuit_id)
    Vehicle.objects.select_for_update().get(pk=vehicle_id)
    circuit = _save(Circuit.objects.select_for_update().get(pk=circuit_id), actor, data, now)
    for watcher in WATCHERS:
        watcher(actor, circuit, now)
    return circuit


def _save(circuit: Circuit, actor: Actor, data: CircuitData, now: datetime) -> Circuit:
    columns = _columns(data)
    others = Circuit.objects.filter(vehicle_id=circuit.vehicle_id, name__iexact=columns["name"])
    if others.exclude(pk=circuit.pk).exists():
        sentence = _("The vehicle has a circuit “%(name)s” already.") % {"name": columns["name"]}
        raise CircuitKnown(sentence, field="name")
    for name, value in columns.items():
        setattr(circuit, name, value)
    circuit.save()
    entry = CircuitEntry(circuit=circuit, values=columns)
    append(entry, stream=f"circuit:{circuit.pk}", actor=actor, now=now)
    return circuit


def _columns(data: CircuitData) -> dict[str, Any]:
    """Return the columns of a circuit; what only high voltage has is refused elsewhere."""
    name = " ".join(data.name.split())
    if not 1 <= len(name) <= 60:
        raise DomainError(_("A circuit has a name of 1 to 60 characters."), code="name", field="name")
    wait = data.high_voltage_wait_minutes
    if wait is not None and not 0 <= wait <= LONGEST_WAIT_MINUTES:
        sentence = _("A wait of 0 to %(longest)d minutes, please.") % {"longest": LONGEST_WAIT_MINUTES}
        raise DomainError(sentence, code="wait", field="high_voltage_wait_minutes")
    return {
        "name": name,
        "drive": _known(Drive, data.drive, "drive"),
        "refrigerant": _known(Refrigerant, data.refrigerant, "refrigerant"),
        **_charge_columns(data),
        "lubricant": _known(Lubricant, data.lubricant, "lubricant"),
        "lubricant_grade": " ".join(data.lubricant_grade.split()),
        "oil_m3": data.oil.si if data.oil else None,
        "oil_typed": stored_text(data.oil),
        "working_voltage_v": data.working_voltage.si if data.working_voltage else None,
        "metering": _known(Metering, data.metering, "metering"),
        "high_voltage_wait_minutes": wait if data.is_high_voltage else None,
        "label_source": " ".join(data.label_source.split()),
        "oil_rule": _checked_rule(data.oil_rule),
        **_maker_columns(data),
    }


def _maker_columns(data: CircuitData) -> dict[str, Any]:
    """Return what the vehicle maker asks for; without its source nobody may be bound by it."""
    pressure, temperature = data.search_pressure, data.search_temperature
    source = " ".join(data.maker_source.split())
    asks = data.no_dye or data.dedicated_hoses or pressure is not None or temperature is not None
    if asks and not source:
        sentence = _("Say where the vehicle maker asks for it: manual, page, bulletin.")
        raise DomainError(sentence, code="maker_source", field="maker_source")
    return {
        "no_dye": data.no_dye,
        "dedicated_hoses": data.dedicated_hoses,
        "search_pressure_pa": pressure.si if pressure else None,
        "search_pressure_typed": stored_text(pressure),
        "search_temperature_k": temperature.si if temperature else None,
        "search_temperature_typed": stored_text(temperature),
        "maker_source": source,
    }


def _checked_rule(text: str) -> str:
    """Return the rule as it was typed, empty without one; raises DomainError that names the wrong line."""
    if not text.strip():
        return ""
    try:
        parse_rule(text)
    except Refusal as refusal:
        raise DomainError(refusal.message, code=refusal.code, field="oil_rule") from refusal
    return text.strip()


def _charge_columns(data: CircuitData) -> dict[str, Any]:
    charge = data.charge
    if charge is None:
        return {"charge_kg": None, "charge_typed": "", "tolerance_kg": None, "tolerance_typed": ""}
    states_tolerance = charge.tolerance_kg is not None
    return {
        "charge_kg": charge.charge_kg,
        "charge_typed": charge.typed,
        "tolerance_kg": charge.tolerance_kg,
        "tolerance_typed": charge.typed if states_tolerance else "",
    }


def _known(choices: Any, value: str, field: str) -> str:
    if value not in choices.values:
        raise DomainError(_("“%(value)s” is not known here.") % {"value": value}, code="choice", field=field)
    return str(value)
