"""Signing in, signing out, and handing a shared tablet to a colleague."""

from __future__ import annotations

from django.conf import settings
from django.contrib.auth import login, logout
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST

from shopcool.core import clock
from shopcool.core.errors import DomainError, require
from shopcool.core.forms import add_domain_error
from shopcool.people.forms import ChangePersonForm, SignInForm
from shopcool.people.models import User
from shopcool.people.policies import may_change_person
from shopcool.people.requests import actor_of, address_of, safe_next
from shopcool.people.selectors import people_visible_to
from shopcool.people.services.sign_in import sign_in_check


@login_not_required
@never_cache
@sensitive_post_parameters("password")
@require_http_methods(["GET", "HEAD", "POST"])
def sign_in(request: HttpRequest) -> HttpResponse:
    """Ask for name and password, then lead to the page that was wanted."""
    target = safe_next(request)
    if request.user.is_authenticated:
        return redirect(target or settings.LOGIN_REDIRECT_URL)
    form = SignInForm(request.POST or None)
    if form.is_valid() and _signed_in(request, form, form.cleaned_data["username"]):
        return redirect(target or settings.LOGIN_REDIRECT_URL)
    return _page(request, "people/sign_in.html", form, target)


@never_cache
@sensitive_post_parameters("password")
@require_http_methods(["GET", "HEAD", "POST"])
def change_person(request: HttpRequest) -> HttpResponse:
    """Sign a colleague in on the same page of the same tablet; the former person is signed out with it."""
    actor = actor_of(request)
    require(may_change_person(actor))
    target = safe_next(request)
    colleagues = people_visible_to(actor).filter(is_active=True).exclude(pk__in=[actor.user_id])
    form = ChangePersonForm(request.POST or None)
    form.fields["person"].queryset = colleagues  # type: ignore[attr-defined]
    if form.is_valid() and _signed_in(request, form, form.cleaned_data["person"].username):
        return redirect(target or settings.LOGIN_REDIRECT_URL)
    return _page(request, "people/change_person.html", form, target)


@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    """End the session on this tablet."""
    logout(request)
    return redirect(settings.LOGOUT_REDIRECT_URL)


def _signed_in(request: HttpRequest, form: SignInForm | ChangePersonForm, username: str) -> bool:
    try:
        user: User = sign_in_check(
            username=username,
            password=form.cleaned_data["password"],
            address=address_of(request),
            now=clock.now(),
        )
    except DomainError as error:
        add_domain_error(form, error)
        return False
    login(request, user)
    return True


def _page(
    request: HttpRequest, template: str, form: SignInForm | ChangePersonForm, target: str
) -> HttpResponse:
    status = 422 if form.is_bound else 200
    return render(request, template, {"form": form, "next": target}, status=status)
