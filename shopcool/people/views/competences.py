"""Adding and withdrawing the competences of a person."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from shopcool.core import clock
from shopcool.core.errors import DomainError
from shopcool.core.forms import add_domain_error
from shopcool.core.loaders import load
from shopcool.people.forms import CompetenceForm, WithdrawForm
from shopcool.people.policies import may_manage_people
from shopcool.people.requests import actor_of
from shopcool.people.selectors import competences_visible_to, people_visible_to
from shopcool.people.services.competences import competence_add, competence_withdraw

GET_OR_POST = ["GET", "HEAD", "POST"]


@require_http_methods(GET_OR_POST)
def competence_create(request: HttpRequest, user_id: int) -> HttpResponse:
    """Add a competence to a person."""
    actor = actor_of(request)
    person = load(people_visible_to(actor), actor=actor, policy=may_manage_people, pk=user_id)
    form = CompetenceForm(request.POST or None)
    if form.is_valid():
        try:
            competence_add(actor=actor, user_id=user_id, now=clock.now(), **form.cleaned_data)
        except DomainError as error:
            add_domain_error(form, error)
        else:
            return redirect("people:person_detail", user_id=user_id)
    status = 422 if form.is_bound else 200
    return render(request, "people/competence_form.html", {"form": form, "person": person}, status=status)


@require_http_methods(GET_OR_POST)
def competence_end(request: HttpRequest, competence_id: int) -> HttpResponse:
    """Ask for the reason, then withdraw a competence."""
    actor = actor_of(request)
    competence = load(competences_visible_to(actor), actor=actor, policy=may_manage_people, pk=competence_id)
    form = WithdrawForm(request.POST or None)
    if form.is_valid():
        try:
            competence_withdraw(
                actor=actor, competence_id=competence_id, now=clock.now(), **form.cleaned_data
            )
        except DomainError as error:
            add_domain_error(form, error)
        else:
            return redirect("people:person_detail", user_id=competence.user_id)
    status = 422 if form.is_bound else 200
    context = {"form": form, "competence": competence, "person": competence.user}
    return render(request, "people/competence_withdraw.html", context, status=status)
