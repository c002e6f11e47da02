"""Keeping the people of the workshop: who may sign in, in which roles, with which password."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import datetime

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from shopcool.core.actors import Actor, Role
from shopcool.core.errors import Conflict, DomainError, require
from shopcool.people.models import User
from shopcool.people.policies import may_manage_people, may_set_email, may_set_password

USERNAME = re.compile(r"[a-z0-9][a-z0-9._-]{1,59}")


#: RFC 5321, 4.5.3.1.3: a path of 256 octets with its two brackets.
LONGEST_EMAIL = 254


class LastOwner(Conflict):
    """The workshop would be left without an owner."""

    code = "last_owner"


class UsernameTaken(Conflict):
    """Another person signs in with this name."""

    code = "username_taken"


class WeakPassword(DomainError):
    """The password does not meet the rules."""

    code = "weak_password"


class EmailImpossible(DomainError):
    """No mail server could deliver to the address."""

    code = "email"


class WrongPassword(DomainError):
    """The present password was not given."""

    code = "wrong_password"


@transaction.atomic
def user_create(
    *,
    actor: Actor,
    username: str,
    full_name: str,
    roles: Iterable[str],
    password: str,
    now: datetime,
    email: str = "",
) -> User:
    """Return a new person who may sign in.

    Raises NotAllowed, UsernameTaken, WeakPassword, EmailImpossible, and DomainError for a name that can't
    be used.
    """
    require(may_manage_people(actor))
    name = _usable_username(username)
    _check_password(password, field="password")
    person = {"full_name": _full_name(full_name), "email": _usable_email(email), "roles": _known_roles(roles)}
    try:
        with transaction.atomic():
            return User.objects.create_user(username=name, password=password, **person)
    except IntegrityError as error:
        raise UsernameTaken(
            _("Somebody already signs in as “%(name)s”. Choose another name.") % {"name": name},
            field="username",
        ) from error


@transaction.atomic
def user_update(
    *, actor: Actor, user_id: int, full_name: str, email: str, roles: Iterable[str], now: datetime
) -> User:
    """Return the person with a new name, address and roles.

    Raises NotAllowed, EmailImpossible and LastOwner.
    """
    require(may_manage_people(actor))
    user = _locked(user_id)
    user.full_name = _full_name(full_name)
    user.email = _usable_email(email)
    user.roles = _known_roles(roles)
    user.save(update_fields=["full_name", "email", "roles"])
    _keep_an_owner()
    return user


@transaction.atomic
def own_email_set(*, actor: Actor, user_id: int, email: str, now: datetime) -> User:
    """Return the person with the address their reminders go to, or with none.

    Raises NotAllowed and EmailImpossible.
    """
    require(may_set_email(actor, user_id))
    user = _locked(user_id)
    user.email = _usable_email(email)
    user.save(update_fields=["email"])
    return user


@transaction.atomic
def user_deactivate(*, actor: Actor, user_id: int, now: datetime) -> User:
    """Stop a person from signing in, at once and on every tablet; raises NotAllowed and LastOwner.

    Nobody is ever deleted: their name stands on records.
    """
    require(may_manage_people(actor))
    user = _locked(user_id)
    user.is_active = False
    user.save(update_fields=["is_active"])
    _keep_an_owner()
    return user


@transaction.atomic
def user_reactivate(*, actor: Actor, user_id: int, now: datetime) -> User:
    """Let a person sign in again; raises NotAllowed."""
    require(may_manage_people(actor))
    user = _locked(user_id)
    user.is_active = True
    user.save(update_fields=["is_active"])
    return user


@transaction.atomic
def password_set(
    *, actor: Actor, user_id: int, password: str, now: datetime, current_password: str = ""
) -> User:
    """Give a person a new password; it ends their other sessions.

    Whoever changes their own password gives the present one. Raises NotAllowed, WrongPassword, WeakPassword.
    """
    require(may_set_password(actor, user_id))
    user = _locked(user_id)
    if actor.user_id == user_id and not user.check_password(current_password):
        raise WrongPassword(_("This is not your present password."), field="current_password")
    _check_password(password, field="password")
    user.set_password(password)
    user.save(update_fields=["password"])
    return user


def _locked(user_id: int) -> User:
    return User.objects.select_for_update().get(pk=user_id)


def _keep_an_owner() -> None:
    # All owners are locked, so that two owners can't demote each other at the same moment.
    owners = User.objects.select_for_update().filter(roles__contains=[Role.OWNER])
    if not any(owner.is_active for owner in owners):
        raise LastOwner(
            _("The workshop needs at least one owner who may sign in. Make somebody else owner first.")
        )


def _usable_username(username: str) -> str:
    name = username.strip().lower()
    if not USERNAME.fullmatch(name):
        raise DomainError(
            _("A sign-in name has 2 to 60 letters, digits, dots or hyphens, a letter or digit first."),
            code="username",
            field="username",
        )
    return name


def _usable_email(email: str) -> str:
    address = email.strip()
    if not address:
        return ""
    try:
        validate_email(address)
    except ValidationError as error:
        raise EmailImpossible(_("Enter an e-mail address like name@shop.example."), field="email") from error
    if len(address) > LONGEST_EMAIL:
        raise EmailImpossible(_("An e-mail address has at most 254 characters."), field="email")
    return address


def _full_name(full_name: str) -> str:
    name = " ".join(full_name.split())
    if not 1 <= len(name) <= 120:
        raise DomainError(_("A name has 1 to 120 characters."), code="full_name", field="full_name")
    return name


def _known_roles(roles: Iterable[str]) -> list[str]:
    chosen = set(roles)
    unknown = chosen - set(Role.values)
    if unknown:
        raise DomainError(
            _("There is no role %(role)s.") % {"role": ", ".join(sorted(unknown))}, code="role", field="roles"
        )
    return [role for role in Role.values if role in chosen]


def _check_password(password: str, *, field: str) -> None:
    try:
        validate_password(password)
    except ValidationError as error:
        raise WeakPassword(" ".join(error.messages), field=field) from error
