"""Finding the circuit of the car that stands in the bay."""

from __future__ import annotations

from django.db.models import Value
from django.db.models.functions import Replace, Upper

from equipment.policies import may_see_equipment
from shopcool.core.actors import Actor
from shopcool.vehicles.models import Circuit

MOST_FOUND = 12


def plate_letters(text: str) -> str:
    """Return a registration without spaces and dashes, in capitals, as two people would type it alike."""
    return text.upper().replace(" ", "").replace("-", "")


def circuits_with_plate(plate: str) -> list[Circuit]:
    """Return the circuits of the vehicle with exactly this registration."""
    return _matching(plate_letters(plate), "plate")


def circuits_found(actor: Actor, text: str) -> list[Circuit]:
    """Return the circuits whose vehicle's registration holds the text, for people who see the equipment."""
    return _matching(plate_letters(text), "plate__contains") if may_see_equipment(actor) else []


def circuit_named(actor: Actor, circuit_id: str) -> Circuit | None:
    """Return the circuit with this number, None for anything else."""
    if not may_see_equipment(actor) or not circuit_id.isdecimal() or len(circuit_id) > 18:
        return None
    return Circuit.objects.select_related("vehicle").filter(pk=int(circuit_id)).first()


def _matching(letters: str, lookup: str) -> list[Circuit]:
    if not letters:
        return []
    spaced = Replace(Upper("vehicle__registration"), Value(" "), Value(""))
    plain = Replace(spaced, Value("-"), Value(""))
    rows = Circuit.objects.annotate(plate=plain).filter(**{lookup: letters}).select_related("vehicle")
    return list(rows.order_by("vehicle__registration", "name")[:MOST_FOUND])
