"""The secret address of a person's calendar: made, renewed, ended, and found again by what was asked."""

from __future__ import annotations

from datetime import datetime, timedelta
from hashlib import sha256
from secrets import token_urlsafe

from django.db import transaction

from shopcool.core.actors import Actor
from shopcool.core.errors import require
from shopcool.people.models import CalendarAddress
from shopcool.people.policies import may_have_calendar

#: 24 random bytes are 192 bits: nobody finds one by trying.
SECRET_BYTES = 24
READ_TO = timedelta(hours=1)


def digest_of(secret: str) -> str:
    """Return what is kept of a secret, as 64 hexadecimal digits."""
    return sha256(secret.encode()).hexdigest()


@transaction.atomic
def calendar_address_make(*, actor: Actor, user_id: int, now: datetime) -> str:
    """Return the secret of a new address, which is not kept and can't be shown again; an older one ends.

    Raises NotAllowed.
    """
    require(may_have_calendar(actor, user_id))
    secret = token_urlsafe(SECRET_BYTES)
    CalendarAddress.objects.update_or_create(
        user_id=user_id, defaults={"secret_digest": digest_of(secret), "made_at": now, "read_at": None}
    )
    return secret


@transaction.atomic
def calendar_address_end(*, actor: Actor, user_id: int, now: datetime) -> bool:
    """End a person's address and return whether there was one; raises NotAllowed."""
    require(may_have_calendar(actor, user_id))
    return CalendarAddress.objects.filter(user_id=user_id).delete()[0] > 0


def calendar_address_read(*, secret: str, now: datetime) -> CalendarAddress | None:
    """Return the address that a secret opens and note that it was read; None for any other secret.

    The address of somebody who may not sign in, or has no role any more, opens nothing.
    """
    found = (
        CalendarAddress.objects.filter(
            secret_digest=digest_of(secret), user__is_active=True, user__roles__len__gt=0
        )
        .select_related("user")
        .first()
    )
    if found is not None and (found.read_at is None or found.read_at < now - READ_TO):
        CalendarAddress.objects.filter(pk=found.pk).update(read_at=now)
    return found
