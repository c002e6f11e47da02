"""Keeping the dated qualifications of people."""

from __future__ import annotations

from datetime import date, datetime

from django.db import transaction
from django.utils.translation import gettext as _

from shopcool.core.actors import Actor
from shopcool.core.errors import Conflict, DomainError, require
from shopcool.people.models import Competence, User
from shopcool.people.policies import may_manage_people


class CompetenceKnown(Conflict):
    """This certificate is on record already."""

    code = "competence_known"


class AlreadyWithdrawn(Conflict):
    """The competence was withdrawn before."""

    code = "already_withdrawn"


@transaction.atomic
def competence_add(
    *,
    actor: Actor,
    user_id: int,
    kind: str,
    number: str,
    body: str,
    issued_on: date,
    valid_until: date | None,
    now: datetime,
) -> Competence:
    """Return a new competence of a person.

    Raises NotAllowed, CompetenceKnown, and DomainError for impossible dates.
    """
    require(may_manage_people(actor))
    user = User.objects.select_for_update().get(pk=user_id)
    if valid_until is not None and valid_until < issued_on:
        raise DomainError(
            _("The certificate can't end before it was issued."), code="dates", field="valid_until"
        )
    number = " ".join(number.split())
    if Competence.objects.filter(user=user, kind=kind, number=number, withdrawn_at__isnull=True).exists():
        raise CompetenceKnown(
            _("Certificate %(number)s of %(person)s is on record already.")
            % {"number": number, "person": user},
            field="number",
        )
    return Competence.objects.create(
        user=user,
        kind=kind,
        number=number,
        body=" ".join(body.split()),
        issued_on=issued_on,
        valid_until=valid_until,
        added_by_id=actor.user_id,
    )


@transaction.atomic
def competence_withdraw(*, actor: Actor, competence_id: int, reason: str, now: datetime) -> Competence:
    """Take a competence back, from now on; the row stays.

    Raises NotAllowed, AlreadyWithdrawn, and DomainError without a reason.
    """
    require(may_manage_people(actor))
    competence = Competence.objects.select_for_update().get(pk=competence_id)
    if competence.withdrawn_at is not None:
        raise AlreadyWithdrawn(_("This competence was withdrawn before."))
    reason = " ".join(reason.split())
    if not reason:
        raise DomainError(_("Say why the competence is withdrawn."), code="reason", field="reason")
    competence.withdrawn_at = now
    competence.withdrawn_by_id = actor.user_id
    competence.withdrawn_reason = reason
    competence.save(update_fields=["withdrawn_at", "withdrawn_by", "withdrawn_reason"])
    return competence
