"""The way views obtain objects: 404 for outsiders, 403 for colleagues without the right."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from django.core.exceptions import ObjectDoesNotExist
from django.db.models import Model, QuerySet
from django.http import Http404
from django.utils.translation import gettext as _

from shopcool.core.actors import Actor
from shopcool.core.errors import require

M = TypeVar("M", bound=Model)
Policy = Callable[[Actor], bool]


def load(visible: QuerySet[M], *, actor: Actor, policy: Policy, **lookup: object) -> M:
    """Return the one object of ``visible`` that matches, if the actor's policy allows the action.

    Raises Http404 when the actor can't see it and NotAllowed when the actor may see it but not do this.
    """
    try:
        found = visible.get(**lookup)
    except ObjectDoesNotExist as error:
        raise Http404(_("There is nothing here, or it is not yours to see.")) from error
    require(policy(actor))
    return found
