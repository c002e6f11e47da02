"""Reads of people and their competences, restricted to what the actor may see."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Prefetch, Q, QuerySet

from shopcool.core.actors import Actor, Role
from shopcool.people.models import Competence, CompetenceKind, User
from shopcool.people.policies import may_manage_people, works_here

EXPIRY_NOTICE = timedelta(days=60)


def people_visible_to(actor: Actor) -> QuerySet[User]:
    """Return who the actor may see: an owner all, a colleague the active ones, an outsider themselves."""
    people = User.objects.order_by("full_name", "username")
    if may_manage_people(actor):
        return people
    oneself = Q(pk__in=[actor.user_id])
    return people.filter(oneself | Q(is_active=True) if works_here(actor) else oneself)


def people_with_competences(actor: Actor) -> QuerySet[User]:
    """Return the people the actor may see, with the competences that stand, newest first."""
    standing = competences_standing().order_by("kind", "-issued_on")
    return people_visible_to(actor).prefetch_related(
        Prefetch("competences", queryset=standing, to_attr="standing_competences")
    )


def technicians() -> QuerySet[User]:
    """Return the people a job can be given to, by name."""
    return User.objects.filter(is_active=True, roles__contains=[Role.TECHNICIAN]).order_by(
        "full_name", "username"
    )


def colleagues_active() -> QuerySet[User]:
    """Return everybody who has a role and may sign in, by name."""
    return User.objects.filter(is_active=True, roles__len__gt=0).order_by("full_name", "username")


def competences_standing() -> QuerySet[Competence]:
    """Return the competences that were not withdrawn, whatever their dates."""
    return Competence.objects.filter(withdrawn_at__isnull=True)


def competences_visible_to(actor: Actor) -> QuerySet[Competence]:
    """Return the competences of the people the actor may see, with the person."""
    return Competence.objects.filter(user__in=people_visible_to(actor)).select_related("user")


def withdrawn_competences(user_id: int) -> QuerySet[Competence]:
    """Return what was taken back from a person, newest first."""
    return Competence.objects.filter(user_id=user_id, withdrawn_at__isnull=False).order_by("-withdrawn_at")


def competences_in_date(*, user_ids: Iterable[int], on: date) -> QuerySet[Competence]:
    """Return the competences of the people that stand and are in date on a day."""
    return (
        competences_standing()
        .filter(user_id__in=list(user_ids), issued_on__lte=on)
        .filter(Q(valid_until__isnull=True) | Q(valid_until__gte=on))
        .order_by("user_id", "kind", "-issued_on")
    )


def competence_kinds_in_date(*, user_ids: Iterable[int], on: date) -> dict[int, frozenset[CompetenceKind]]:
    """Return what each person masters on a day; a person without any has an empty set."""
    wanted = list(user_ids)
    kinds: dict[int, set[CompetenceKind]] = {user_id: set() for user_id in wanted}
    for competence in competences_in_date(user_ids=wanted, on=on):
        kinds[competence.user_id].add(CompetenceKind(competence.kind))
    return {user_id: frozenset(found) for user_id, found in kinds.items()}


@dataclass(frozen=True)
class CompetenceRow:
    """One competence as a page shows it on a day."""

    competence: Competence
    is_expired: bool
    expires_soon: bool
    is_future: bool

    @property
    def is_in_date(self) -> bool:
        """Whether it counts on the day."""
        return not (self.is_expired or self.is_future)


def competence_rows(competences: Iterable[Competence], on: date) -> list[CompetenceRow]:
    """Return competences with what their dates mean on a day."""
    return [
        CompetenceRow(
            competence=competence,
            is_expired=competence.valid_until is not None and competence.valid_until < on,
            expires_soon=competence.valid_until is not None
            and on <= competence.valid_until <= on + EXPIRY_NOTICE,
            is_future=competence.issued_on > on,
        )
        for competence in competences
    ]


@dataclass(frozen=True)
class PersonRow:
    """One line of the list of people."""

    person: User
    competences: list[CompetenceRow]
    missing: list[str]

    @property
    def absent(self) -> list[str]:
        """What is missing without even an expired certificate."""
        held = {str(row.competence.get_kind_display()) for row in self.competences}
        return [kind for kind in self.missing if kind not in held]


def person_rows(people: Iterable[User], on: date) -> list[PersonRow]:
    """Return people loaded by :func:`people_with_competences` with the competences they lack on a day."""
    return [_person_row(person, on) for person in people]


def _person_row(person: User, on: date) -> PersonRow:
    rows = competence_rows(person.standing_competences, on)  # type: ignore[attr-defined]
    held = {row.competence.kind for row in rows if row.is_in_date}
    needs = CompetenceKind if Role.TECHNICIAN in person.roles else ()
    return PersonRow(person, rows, [str(kind.label) for kind in needs if kind not in held])
