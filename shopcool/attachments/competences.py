"""Certificates of people as things that files are attached to."""

from __future__ import annotations

from django.urls import reverse

from shopcool.attachments.parents import Parent, ParentKind, row_number
from shopcool.core.actors import Actor
from shopcool.people.models import Competence
from shopcool.people.policies import may_manage_people, may_see_person

KIND = "competence"


def competence_parent(competence: Competence) -> Parent:
    """Return a certificate, loaded with its person."""
    name = f"{competence.get_kind_display()} {competence.number}, {competence.user}"
    url = reverse("people:person_detail", args=[competence.user_id])
    return Parent(KIND, str(competence.pk), name, url)


def _find(actor: Actor, key: str) -> Parent | None:
    competence = Competence.objects.select_related("user").filter(pk=row_number(key)).first()
    if competence is None or not may_see_person(actor, competence.user_id):
        return None
    return competence_parent(competence)


COMPETENCES = ParentKind(KIND, find=_find, may_add=may_manage_people)
