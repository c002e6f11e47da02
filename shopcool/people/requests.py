"""What a request says about the person behind it."""

from __future__ import annotations

from dataclasses import replace
from ipaddress import ip_address

from django.conf import settings
from django.http import HttpRequest
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _

from shopcool.core.actors import Actor, PreferredUnits
from shopcool.people.models import User
from shopcool.people.services.units import UnitUnknown

#: What a request of the API may ask for in a word.
SYSTEMS = {
    "metric": PreferredUnits("bar", "°C", "g", "ml"),
    "us": PreferredUnits("psi", "°F", "oz", "US fl oz"),
}


def actor_of(request: HttpRequest) -> Actor:
    """Return the signed-in person as the services know them; nobody is an actor without any role."""
    user = request.user
    return user.as_actor() if isinstance(user, User) else Actor(user_id=None, name="", roles=frozenset())


def asking_actor(request: HttpRequest) -> Actor:
    """Return the person behind a request of the API, with the units that ``?units=`` asks for.

    Without it they read and type in the units they prefer. Raises UnitUnknown.
    """
    actor, asked = actor_of(request), request.GET.get("units", "")
    if not asked:
        return actor
    if asked not in SYSTEMS:
        known = ", ".join(SYSTEMS)
        raise UnitUnknown(
            _("“%(asked)s” is not known here: ask for %(known)s.") % {"asked": asked, "known": known},
            field="units",
        )
    return replace(actor, units=SYSTEMS[asked])


def address_of(request: HttpRequest) -> str | None:
    """Return the network address a request came from, None when it came over a local socket.

    Behind a proxy it is the last address of ``X-Forwarded-For``, the only one our own proxy vouches for.
    """
    if settings.BEHIND_PROXY:
        address = request.headers.get("X-Forwarded-For", "").rpartition(",")[2].strip()
    else:
        address = request.META.get("REMOTE_ADDR") or ""
    try:
        return str(ip_address(address))
    except ValueError:
        return None


def safe_next(request: HttpRequest) -> str:
    """Return the page of our own that the person wanted, empty when there is none or it leads elsewhere."""
    wanted = request.POST.get("next") or request.GET.get("next") or ""
    own = url_has_allowed_host_and_scheme(
        wanted, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return wanted if own else ""
