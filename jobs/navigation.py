"""The places a person may go, by role, for the navigation bar."""

from __future__ import annotations

from dataclasses import dataclass, replace

from django.http import HttpRequest
from django.urls import reverse
from django.utils.functional import SimpleLazyObject
from django.utils.translation import gettext as _

from equipment.reminders.selectors import reminders_waiting
from shopcool.core import clock
from shopcool.people.models import User
from shopcool.people.policies import works_here
from shopcool.shop.selectors import shop_of


@dataclass(frozen=True)
class Place:
    """One entry of the navigation."""

    label: str
    url: str
    current: bool
    #: How many things wait for the person there.
    count: int = 0
    #: What is wrong there, in words; empty when nothing is.
    warning: str = ""


def navigation(request: HttpRequest) -> dict[str, object]:
    """Return the places of the signed-in person, with the present one marked; asked only by whole pages."""
    return {"navigation": SimpleLazyObject(lambda: places(request))}


def places(request: HttpRequest) -> list[Place]:
    """Return where the person behind a request may go."""
    user = getattr(request, "user", None)
    if not isinstance(user, User):
        return []
    entries = [
        (_("Today"), "jobs:today", ("/jobs/",)),
        (_("Equipment"), "equipment:board", ("/equipment/", "/p/")),
        (_("Vehicles"), "vehicles:list", ("/vehicles/",)),
    ]
    actor = user.as_actor()
    found = [_place(request.path, *entry) for entry in entries]
    if works_here(actor):
        found.append(_reminders(request, user))
    if actor.is_owner:
        entries = [
            (_("Records"), "jobs:records", ("/records/",)),
            (_("People"), "people:list", ("/people/",)),
            (_("Shop"), "shop:settings", ("/shop/",)),
        ]
        found += [_place(request.path, *entry) for entry in entries]
    return found


def _reminders(request: HttpRequest, user: User) -> Place:
    """Return the list of reminders with its count, and for an owner whether they are written at all."""
    place = _place(request.path, _("Reminders"), "equipment:reminders", ("/reminders/",))
    waiting = reminders_waiting(user.pk)
    missing = user.as_actor().is_owner and waiting.run_is_missing(shop_of(request), clock.now())
    warning = _("the daily run is missing") if missing else ""
    return replace(place, count=waiting.count, warning=warning)


def _place(path: str, label: str, name: str, prefixes: tuple[str, ...]) -> Place:
    url = reverse(name)
    return Place(label=label, url=url, current=path == url or path.startswith(prefixes))
