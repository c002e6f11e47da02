"""Letting a display on the wall show the board, and ending it."""

from __future__ import annotations

from datetime import datetime
from hashlib import sha256
from secrets import choice

from django.db import transaction
from django.utils.translation import gettext as _

from equipment.policies import may_manage_walls
from equipment.walls import WallDisplay
from shopcool.core.actors import Actor
from shopcool.core.errors import DomainError, require, require_person

#: Easy to type on a television: no capitals, nothing that looks like something else.
LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"
#: 24 of 31 letters are 118 bits: nobody finds one by trying.
SECRET_LENGTH = 24


def digest_of(secret: str) -> str:
    """Return what is kept of a secret, as 64 hexadecimal digits."""
    return sha256(secret.encode()).hexdigest()


@transaction.atomic
def wall_open(*, actor: Actor, name: str, now: datetime) -> tuple[WallDisplay, str]:
    """Let a display show the board; return it with its secret, which is not kept and can't be shown again.

    Raises NotAllowed, and DomainError when nobody would know later which display it is.
    """
    require(may_manage_walls(actor))
    name = " ".join(name.split())
    if not 1 <= len(name) <= 80:
        raise DomainError(_("Say in 1 to 80 characters where the display hangs."), field="name")
    secret = "".join(choice(LETTERS) for _number in range(SECRET_LENGTH))
    display = WallDisplay.objects.create(
        name=name, secret_digest=digest_of(secret), opened_at=now, opened_by_id=require_person(actor)
    )
    return display, secret


@transaction.atomic
def wall_close(*, actor: Actor, display_id: int, now: datetime) -> WallDisplay:
    """End the address of a display; closed already, nothing changes. Raises NotAllowed."""
    require(may_manage_walls(actor))
    display = WallDisplay.objects.select_for_update().get(pk=display_id)
    if display.closed_at is None:
        display.closed_at, display.closed_by_id = now, actor.user_id
        display.save(update_fields=["closed_at", "closed_by"])
    return display
