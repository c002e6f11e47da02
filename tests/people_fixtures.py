"""The standing people of the tests: owner, front desk, technicians, and an outsider without a role."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime

import pytest
from django.test import Client
from pytest_django.fixtures import Settings

from shopcool.core.actors import Role
from shopcool.people.models import Competence, CompetenceKind, User

PASSWORD = "quiet-brass-lantern"
SignedIn = Callable[[User], Client]


@pytest.fixture(autouse=True)
def fast_passwords(settings: Settings) -> None:
    """Hash passwords in no time; the real hasher is slow on purpose."""
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


@pytest.fixture
def now() -> datetime:
    """A Monday morning at the workshop."""
    return datetime(2026, 3, 2, 8, 30, tzinfo=UTC)


def person(username: str, full_name: str, *roles: Role) -> User:
    """Return a person who may sign in with ``PASSWORD``."""
    return User.objects.create_user(username, PASSWORD, full_name=full_name, roles=list(roles))


def certified(user: User, *kinds: CompetenceKind) -> User:
    """Give a person competences that never end, and return them."""
    for kind in kinds:
        Competence.objects.create(
            user=user, kind=kind, number=f"{kind[:2]}-{user.username}", body="Chamber of Trade",
            issued_on=date(2024, 1, 15),
        )  # fmt: skip
    return user


@pytest.fixture
def owner(db: None) -> User:
    """Who owns the workshop, with both competences."""
    return certified(person("olga", "Olga Brandt", Role.OWNER), *CompetenceKind)


@pytest.fixture
def technician(db: None) -> User:
    """Who works on vehicles, with both competences."""
    return certified(person("timo", "Timo Lindqvist", Role.TECHNICIAN), *CompetenceKind)


@pytest.fixture
def colleague(db: None) -> User:
    """Another technician, without competences."""
    return person("clara", "Clara Osei", Role.TECHNICIAN)


@pytest.fixture
def front_desk(db: None) -> User:
    """Who books vehicles in."""
    return person("fria", "Fria Nowak", Role.FRONT_DESK)


@pytest.fixture
def outsider(db: None) -> User:
    """Somebody with a password and no role."""
    return person("otto", "Otto Outside")


@pytest.fixture
def signed_in() -> SignedIn:
    """Return a function that gives the browser of a person who is signed in."""

    def browser(user: User) -> Client:
        client = Client()
        client.force_login(user)
        return client

    return browser
