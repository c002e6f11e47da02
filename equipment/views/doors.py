"""How every page of the equipment lets people in and hands a filled form to its one domain call."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from django import forms
from django.http import Http404, HttpRequest, QueryDict
from django.utils.translation import gettext as _

from equipment.policies import may_see_equipment
from shopcool.core.actors import Actor
from shopcool.core.errors import DomainError, require
from shopcool.core.forms import add_domain_error
from shopcool.people.requests import actor_of

GET_OR_POST = ["GET", "HEAD", "POST"]
T = TypeVar("T")


def colleague(request: HttpRequest, policy: Callable[[Actor], bool] = may_see_equipment) -> Actor:
    """Return the person behind a request: 404 for outsiders, 403 for colleagues without the right."""
    actor = actor_of(request)
    if not may_see_equipment(actor):
        raise Http404(_("There is nothing here, or it is not yours to see."))
    require(policy(actor))
    return actor


def posted(request: HttpRequest) -> QueryDict | None:
    """Return what a form sent, None when the page is only opened."""
    return request.POST if request.method == "POST" else None


def attempt(form: forms.Form, act: Callable[[], T]) -> T | None:
    """Return what the domain call of a valid form gave; None when the form or the call refuses.

    A refusal then stands on the form, beside the field that it blames.
    """
    if not form.is_valid():
        return None
    try:
        return act()
    except DomainError as error:
        add_domain_error(form, error)
        return None


def status_of(form: forms.Form) -> int:
    """Return the HTTP status of a page with a form: 422 when what was sent has to be corrected."""
    return 422 if form.is_bound else 200
