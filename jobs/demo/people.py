"""The people of the invented workshop: three of each role."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from shopcool.core.actors import SYSTEM, Actor, Role
from shopcool.people.models import CompetenceKind, User
from shopcool.people.services.competences import competence_add
from shopcool.people.services.people import user_create

PASSWORD = "slow-amber-kettle"  # noqa: S105 – public on purpose: the sign-in of the invented people
REFRIGERANT, HIGH_VOLTAGE = CompetenceKind.REFRIGERANT, CompetenceKind.HIGH_VOLTAGE


@dataclass(frozen=True)
class Person:
    """One invented person."""

    username: str
    full_name: str
    roles: tuple[Role, ...]
    competences: tuple[CompetenceKind, ...] = ()
    remark: str = ""


PEOPLE = (
    Person("ingrid", "Ingrid Solheim", (Role.OWNER, Role.TECHNICIAN), (REFRIGERANT, HIGH_VOLTAGE)),
    Person("mateo", "Mateo Brandt", (Role.OWNER,)),
    Person("yusra", "Yusra Haddad", (Role.OWNER, Role.FRONT_DESK)),
    Person("anneke", "Anneke Vos", (Role.TECHNICIAN,), (REFRIGERANT, HIGH_VOLTAGE)),
    Person("tomasz", "Tomasz Wilk", (Role.TECHNICIAN,), (REFRIGERANT, HIGH_VOLTAGE)),
    Person("priya", "Priya Nair", (Role.TECHNICIAN,), (REFRIGERANT,), "no high-voltage competence"),
    Person("lena", "Lena Ferro", (Role.FRONT_DESK,)),
    Person("oskar", "Oskar Lind", (Role.FRONT_DESK,)),
    Person("maya", "Maya Okafor", (Role.FRONT_DESK,)),
)


def people_create(now: datetime) -> dict[str, Actor]:
    """Create everyone with their competences and return them by sign-in name."""
    founder = Actor(user_id=None, name=SYSTEM.name, roles=frozenset({Role.OWNER}))
    actors: dict[str, Actor] = {}
    for person in PEOPLE:
        user = user_create(
            actor=actors.get("ingrid", founder),
            username=person.username,
            full_name=person.full_name,
            roles=person.roles,
            password=PASSWORD,
            now=now,
        )
        actors[person.username] = user.as_actor()
        _add_competences(actors["ingrid"], user, person, now)
    return actors


def _add_competences(owner: Actor, user: User, person: Person, now: datetime) -> None:
    issued: date = now.date() - timedelta(days=400)
    for number, kind in enumerate(person.competences, start=1):
        competence_add(
            actor=owner,
            user_id=user.pk,
            kind=kind,
            number=f"{kind[:2]}-{user.pk:03d}-{number}",
            body="Coastal Trades Board" if kind is REFRIGERANT else "Guild of Vehicle Electricians",
            issued_on=issued,
            valid_until=issued + timedelta(days=3 * 365),
            now=now,
        )
