"""The places a person may go, by role, for the navigation bar."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import HttpRequest
from django.urls import reverse
from django.utils.translation import gettext as _


@dataclass(frozen=True)
class Place:
    """One entry of the navigation."""

    label: str
    url: str
    current: bool


def navigation(request: HttpRequest) -> dict[str, list[Place]]:
    """Return the places of the signed-in person, with the present one marked."""
    user = getattr(request, "user", None)
    if user is None or not user.is_authenticated:
        return {"navigation": []}
    entries = [
        (_("Today"), "jobs:today", ("/jobs/",)),
        (_("Equipment"), "equipment:board", ("/equipment/",)),
        (_("Vehicles"), "vehicles:list", ("/vehicles/",)),
    ]
    if user.as_actor().is_owner:
        entries += [
            (_("Records"), "jobs:records", ("/records/",)),
            (_("People"), "people:list", ("/people/",)),
            (_("Shop"), "shop:settings", ("/shop/",)),
        ]
    return {"navigation": [_place(request.path, *entry) for entry in entries]}


def _place(path: str, label: str, name: str, prefixes: tuple[str, ...]) -> Place:
    url = reverse(name)
    return Place(label=label, url=url, current=path == url or path.startswith(prefixes))
