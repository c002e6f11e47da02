"""The pages of the equipment room that stand side by side, and which of them a person may open."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import HttpRequest
from django.urls import reverse
from django.utils.functional import SimpleLazyObject
from django.utils.translation import gettext as _

from equipment.pages.follow_up import open_incidents
from equipment.policies import may_print_labels, may_see_equipment, may_see_incidents, may_see_log
from shopcool.people.models import User


@dataclass(frozen=True)
class Place:
    """A page of the equipment room: its word, its address, whether it is open now, what waits there."""

    label: str
    url: str
    current: bool
    count: int | None = None


def equipment_room(request: HttpRequest) -> dict[str, object]:
    """Return the places of the equipment room; asked only by the pages that show them."""
    return {"equipment_room": SimpleLazyObject(lambda: places(request))}


def places(request: HttpRequest) -> list[Place]:
    """Return where the person behind a request may go within the equipment room."""
    user = getattr(request, "user", None)
    if not isinstance(user, User):
        return []
    actor = user.as_actor()
    incidents = open_incidents(actor) or None if may_see_incidents(actor) else None
    entries = [
        (_("Readiness"), "equipment:board", may_see_equipment, None),
        (_("What is due"), "equipment:due", may_see_equipment, None),
        (_("Oil shelf"), "equipment:oil_shelf", may_see_equipment, None),
        (_("Labels"), "equipment:labels", may_print_labels, None),
        (_("Incidents"), "equipment:incidents", may_see_incidents, incidents),
        (_("Log"), "equipment:log", may_see_log, None),
    ]
    return [
        _place(request.path, label, name, count)
        for label, name, may_open, count in entries
        if may_open(actor)
    ]


def _place(path: str, label: str, name: str, count: int | None) -> Place:
    url = reverse(name)
    return Place(label, url, path == url, count)
