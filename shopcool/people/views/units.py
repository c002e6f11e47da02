"""The page on which a person chooses their units."""

from __future__ import annotations

from dataclasses import asdict

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from shopcool.core import clock
from shopcool.core.actors import PreferredUnits
from shopcool.core.errors import DomainError
from shopcool.core.forms import add_domain_error
from shopcool.people.forms import UnitsForm
from shopcool.people.requests import actor_of
from shopcool.people.services.units import units_choose


@require_http_methods(["GET", "HEAD", "POST"])
def own_units(request: HttpRequest) -> HttpResponse:
    """Choose the units that readings are shown and asked in."""
    actor = actor_of(request)
    form = UnitsForm(request.POST or None, initial=asdict(actor.units))
    if form.is_valid() and actor.user_id is not None:
        try:
            units_choose(
                actor=actor,
                user_id=actor.user_id,
                units=PreferredUnits(**form.cleaned_data),
                now=clock.now(),
            )
        except DomainError as error:
            add_domain_error(form, error)
        else:
            messages.success(request, _("Your units hold from now on."))
            return redirect("people:own_page")
    return render(request, "people/own_units.html", {"form": form}, status=422 if form.is_bound else 200)
