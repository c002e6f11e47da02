"""The list of people, the page of a person, and what an owner changes there."""

from __future__ import annotations

from typing import cast

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from shopcool.core import clock
from shopcool.core.errors import DomainError, require
from shopcool.core.forms import add_domain_error
from shopcool.core.loaders import load
from shopcool.people.forms import NewPersonForm, OwnEmailForm, OwnPasswordForm, PasswordForm, PersonForm
from shopcool.people.models import User
from shopcool.people.policies import may_manage_people, may_see_person, may_set_email, may_set_password
from shopcool.people.requests import actor_of
from shopcool.people.selectors import (
    competence_rows,
    people_visible_to,
    people_with_competences,
    person_rows,
    withdrawn_competences,
)
from shopcool.people.services.people import (
    own_email_set,
    password_set,
    user_create,
    user_deactivate,
    user_reactivate,
    user_update,
)

GET_OR_POST = ["GET", "HEAD", "POST"]


@require_safe
def people_list(request: HttpRequest) -> HttpResponse:
    """Show everybody with roles and competences."""
    actor = actor_of(request)
    require(may_manage_people(actor))
    rows = person_rows(people_with_competences(actor), timezone.localdate())
    return render(request, "people/people_list.html", {"rows": rows})


@require_safe
def person_detail(request: HttpRequest, user_id: int) -> HttpResponse:
    """Show one person with their competences."""
    actor = actor_of(request)
    person = load(
        people_with_competences(actor),
        actor=actor,
        policy=lambda who: may_see_person(who, user_id),
        pk=user_id,
    )
    today = timezone.localdate()
    return render(
        request,
        "people/person_detail.html",
        {
            "person": person,
            "facts": [(_("Sign-in name"), person.username), (_("E-mail"), person.email or None)],
            "row": person_rows([person], today)[0],
            "withdrawn": competence_rows(withdrawn_competences(person.pk), today),
            "may_manage": may_manage_people(actor),
            "is_self": actor.user_id == user_id,
            "may_set_email": may_set_email(actor, user_id),
        },
    )


@require_safe
def own_page(request: HttpRequest) -> HttpResponse:
    """Lead to the page of the person who is signed in."""
    return redirect("people:person_detail", user_id=request.user.pk)


@require_http_methods(GET_OR_POST)
def own_email(request: HttpRequest) -> HttpResponse:
    """Say where one's own reminders go."""
    user = cast(User, request.user)
    actor = user.as_actor()
    require(may_set_email(actor, user.pk))
    form = OwnEmailForm(request.POST or None, initial={"email": user.email})
    if form.is_valid():
        try:
            own_email_set(actor=actor, user_id=user.pk, now=clock.now(), **form.cleaned_data)
        except DomainError as error:
            add_domain_error(form, error)
        else:
            messages.success(request, _("Your address is kept."))
            return redirect("people:own_page")
    return _form_page(request, "people/own_email.html", form, user)


@sensitive_post_parameters("password")
@require_http_methods(GET_OR_POST)
def person_create(request: HttpRequest) -> HttpResponse:
    """Add a person who may sign in."""
    actor = actor_of(request)
    require(may_manage_people(actor))
    form = NewPersonForm(request.POST or None)
    if form.is_valid():
        try:
            person = user_create(actor=actor, now=clock.now(), **form.cleaned_data)
        except DomainError as error:
            add_domain_error(form, error)
        else:
            messages.success(request, _("%(person)s may sign in now.") % {"person": person})
            return redirect("people:person_detail", user_id=person.pk)
    return _form_page(request, "people/person_form.html", form)


@require_http_methods(GET_OR_POST)
def person_edit(request: HttpRequest, user_id: int) -> HttpResponse:
    """Change a person's name, address and roles."""
    actor = actor_of(request)
    person = load(people_visible_to(actor), actor=actor, policy=may_manage_people, pk=user_id)
    present = {"full_name": person.full_name, "email": person.email, "roles": person.roles}
    form = PersonForm(request.POST or None, initial=present)
    if form.is_valid():
        try:
            user_update(actor=actor, user_id=user_id, now=clock.now(), **form.cleaned_data)
        except DomainError as error:
            add_domain_error(form, error)
        else:
            return redirect("people:person_detail", user_id=user_id)
    return _form_page(request, "people/person_form.html", form, person)


@sensitive_post_parameters("password", "current_password")
@require_http_methods(GET_OR_POST)
def person_password(request: HttpRequest, user_id: int) -> HttpResponse:
    """Set a password: one's own with the present one, or anybody's as an owner."""
    actor = actor_of(request)
    person = load(
        people_visible_to(actor), actor=actor, policy=lambda who: may_set_password(who, user_id), pk=user_id
    )
    is_self = actor.user_id == user_id
    form = (OwnPasswordForm if is_self else PasswordForm)(request.POST or None)
    if form.is_valid():
        try:
            person = password_set(actor=actor, user_id=user_id, now=clock.now(), **form.cleaned_data)
        except DomainError as error:
            add_domain_error(form, error)
        else:
            if is_self:
                update_session_auth_hash(request, person)
            messages.success(request, _("The new password holds from now on."))
            return redirect("people:person_detail", user_id=user_id)
    return _form_page(request, "people/person_password.html", form, person)


@require_http_methods(GET_OR_POST)
def person_deactivate(request: HttpRequest, user_id: int) -> HttpResponse:
    """Ask, then stop a person from signing in."""
    actor = actor_of(request)
    person = load(people_visible_to(actor), actor=actor, policy=may_manage_people, pk=user_id)
    if request.method != "POST":
        return render(request, "people/person_deactivate.html", {"person": person})
    try:
        user_deactivate(actor=actor, user_id=user_id, now=clock.now())
    except DomainError as error:
        messages.error(request, error.message)
    return redirect("people:person_detail", user_id=user_id)


@require_POST
def person_reactivate(request: HttpRequest, user_id: int) -> HttpResponse:
    """Let a person sign in again."""
    actor = actor_of(request)
    load(people_visible_to(actor), actor=actor, policy=may_manage_people, pk=user_id)
    user_reactivate(actor=actor, user_id=user_id, now=clock.now())
    return redirect("people:person_detail", user_id=user_id)


def _form_page(request: HttpRequest, template: str, form: Form, person: User | None = None) -> HttpResponse:
    status = 422 if form.is_bound else 200
    return render(request, template, {"form": form, "person": person}, status=status)
