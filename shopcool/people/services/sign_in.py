"""Signing in, with a limit on wrong attempts per name and per address."""

from __future__ import annotations

from datetime import datetime, timedelta
from math import ceil

from django.contrib.auth import authenticate
from django.db.models import QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from shopcool.core.errors import DomainError
from shopcool.people.models import SignInAttempt, User

WINDOW = timedelta(minutes=15)
FAILURES_PER_NAME = 5
FAILURES_PER_ADDRESS = 20
KEPT_FOR = timedelta(days=30)


class WrongSignIn(DomainError):
    """The name or the password is wrong; which one is not told."""

    code = "wrong_sign_in"
    status = 401


class TooManySignIns(DomainError):
    """The name or the address failed too often and has to wait."""

    code = "too_many_sign_ins"
    status = 429


def sign_in_check(*, username: str, password: str, address: str | None, now: datetime) -> User:
    """Return the person that the name and the password belong to.

    An attempt counts from before its password is looked at, so that guesses in parallel gain nothing; a
    right password clears the name. Raises WrongSignIn and TooManySignIns. Runs outside a transaction on
    purpose: a failed attempt has to stay on record.
    """
    name = username.strip().lower()[:60]
    SignInAttempt.objects.filter(attempted_at__lt=now - KEPT_FOR).delete()
    attempt = SignInAttempt.objects.create(username=name, address=address, attempted_at=now)
    others = SignInAttempt.objects.filter(attempted_at__gt=now - WINDOW).exclude(pk=attempt.pk)
    by_address = others.filter(address=address) if address else others.none()
    try:
        _refuse_after(others.filter(username=name), FAILURES_PER_NAME, now)
        _refuse_after(by_address, FAILURES_PER_ADDRESS, now)
    except TooManySignIns:
        # A refused attempt does not lengthen the wait: nobody can lock a colleague out for good.
        attempt.delete()
        raise
    user = authenticate(username=name, password=password)
    if not isinstance(user, User):
        raise WrongSignIn(_("The name or the password is wrong."), field="password")
    SignInAttempt.objects.filter(username=name).delete()
    return user


def _refuse_after(failures: QuerySet[SignInAttempt], limit: int, now: datetime) -> None:
    newest = list(failures.order_by("-attempted_at").values_list("attempted_at", flat=True)[:limit])
    if len(newest) < limit:
        return
    minutes = max(1, ceil((newest[-1] + WINDOW - now) / timedelta(minutes=1)))
    raise TooManySignIns(
        ngettext(
            "Too many wrong sign-ins. Try again in %(minutes)d minute.",
            "Too many wrong sign-ins. Try again in %(minutes)d minutes.",
            minutes,
        )
        % {"minutes": minutes},
        details={"minutes": minutes},
    )
