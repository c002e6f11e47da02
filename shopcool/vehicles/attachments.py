"""Vehicles as things that files are attached to."""

from __future__ import annotations

from django.urls import reverse

from shopcool.attachments.parents import Parent, ParentKind, row_number
from shopcool.core.actors import Actor
from shopcool.vehicles.models import Vehicle
from shopcool.vehicles.policies import may_keep_vehicles, may_see_vehicles

KIND = "vehicle"


def vehicle_parent(vehicle: Vehicle) -> Parent:
    """Return a vehicle."""
    return Parent(KIND, str(vehicle.pk), str(vehicle), reverse("vehicles:detail", args=[vehicle.pk]))


def _find(actor: Actor, key: str) -> Parent | None:
    found = Vehicle.objects.filter(pk=row_number(key)).first() if may_see_vehicles(actor) else None
    return vehicle_parent(found) if found else None


VEHICLES = ParentKind(KIND, find=_find, may_add=may_keep_vehicles)
