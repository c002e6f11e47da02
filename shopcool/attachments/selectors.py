"""Reads of attachments, restricted to what the actor may see."""

from __future__ import annotations

from collections.abc import Iterable

from django.db.models import Q, QuerySet
from django.http import Http404
from django.utils.translation import gettext as _

from shopcool.attachments.models import Attachment
from shopcool.attachments.parents import Parent, parent_for
from shopcool.attachments.policies import may_see_withdrawn
from shopcool.core.actors import Actor


def attachments_of(actor: Actor, parents: Iterable[Parent]) -> QuerySet[Attachment]:
    """Return what is attached to things that the actor sees, newest first, with withdrawals for an owner."""
    keys: dict[str, list[str]] = {}
    for parent in parents:
        keys.setdefault(parent.kind, []).append(parent.key)
    asked = Q(pk__in=[])
    for kind, wanted in keys.items():
        asked |= Q(parent_kind=kind, parent_key__in=wanted)
    return _visible(actor).filter(asked).order_by("-recorded_at", "-pk")


def attachment_for(actor: Actor, public_id: str) -> tuple[Attachment, Parent]:
    """Return an attachment and what it belongs to; raises Http404 unless the actor may see both."""
    found = _visible(actor).filter(public_id=public_id).first() if public_id.isalnum() else None
    if found is None:
        raise Http404(_("There is nothing here, or it is not yours to see."))
    return found, parent_for(actor, found.parent_kind, found.parent_key)


def _visible(actor: Actor) -> QuerySet[Attachment]:
    rows = Attachment.objects.prefetch_related("withdrawal")
    return rows if may_see_withdrawn(actor) else rows.filter(withdrawal__isnull=True)
