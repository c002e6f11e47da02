"""The readiness board for a display on the wall: to read from across the bay, nothing to press."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.db.models import QuerySet

from equipment.board_version import board_version
from equipment.choices import INSTRUMENTS
from equipment.models import Piece
from equipment.pages.board import BoardGroup, groups_by_use
from equipment.pages.outlook import Outlook, outlook
from equipment.policies import may_manage_walls
from equipment.selectors import today_at
from equipment.services.walls import digest_of
from equipment.walls import WallDisplay
from shopcool.core.actors import Actor
from shopcool.shop.models import Shop

#: As many pieces of a group fit on a display.
SHOWN_ON_WALL = 24


@dataclass(frozen=True)
class Wall:
    """What the display shows, and the version by which it asks whether anything changed."""

    groups: tuple[BoardGroup, ...]
    outlook: Outlook
    as_of: datetime
    version: str
    time_zone: str


def wall_version(shop: Shop, now: datetime) -> str:
    """Return the version of what the wall would show, with one query."""
    return board_version(shop=shop, today=today_at(shop, now))


def wall_page(*, shop: Shop, now: datetime, version: str) -> Wall:
    """Return what the wall shows; the caller has asked for its version before, never after."""
    today = today_at(shop, now)
    pieces = Piece.objects.filter(retired_at__isnull=True).select_related("state").order_by("code")
    wetted = list(pieces.exclude(kind__in=INSTRUMENTS))
    groups = groups_by_use(wetted, now=now, today=today, shown=SHOWN_ON_WALL)
    on_vehicles = tuple(group for group in groups if group.is_for_vehicles)
    return Wall(on_vehicles, outlook(today, shop), now, version, shop.time_zone)


def display_with_secret(secret: str) -> WallDisplay | None:
    """Return the display that may look with this secret, None when there is none or it was closed."""
    return WallDisplay.objects.filter(secret_digest=digest_of(secret), closed_at__isnull=True).first()


def displays_visible_to(actor: Actor) -> QuerySet[WallDisplay]:
    """Return the displays that may look now, by the place where they hang."""
    if not may_manage_walls(actor):
        return WallDisplay.objects.none()
    return (
        WallDisplay.objects.filter(closed_at__isnull=True).select_related("opened_by").order_by("name", "pk")
    )
