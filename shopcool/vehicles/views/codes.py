"""The tables of trouble codes: look up, enter, change, remove."""

from __future__ import annotations

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from shopcool.core import clock
from shopcool.core.errors import DomainError, require
from shopcool.core.forms import add_domain_error
from shopcool.core.loaders import load
from shopcool.people.requests import actor_of
from shopcool.vehicles.code_forms import CodeForm, code_initial
from shopcool.vehicles.codes import CodeFilter, codes_visible_to
from shopcool.vehicles.models import CodeMeaning
from shopcool.vehicles.policies import may_keep_codes, may_see_vehicles
from shopcool.vehicles.services.codes import code_change, code_enter, code_remove

GET_OR_POST = ["GET", "HEAD", "POST"]
PER_PAGE = 50
#: What the next line of the same table has in common with the last one.
_KEPT = ("make", "model", "code", "source")


@require_safe
def code_list(request: HttpRequest) -> HttpResponse:
    """Show what is on file, all of it or what a search names."""
    actor = actor_of(request)
    require(may_see_vehicles(actor))
    found = CodeFilter(request.GET, queryset=codes_visible_to(actor))
    context = {
        "filter": found,
        "page": Paginator(found.qs, PER_PAGE).get_page(request.GET.get("page")),
        "query": request.GET.get("q", "").strip(),
        "may_keep": may_keep_codes(actor),
    }
    return render(request, "vehicles/code_list.html", context)


@require_http_methods(GET_OR_POST)
def code_new(request: HttpRequest) -> HttpResponse:
    """Enter a line; the next one begins with what they have in common."""
    actor = actor_of(request)
    require(may_keep_codes(actor))
    form = CodeForm(request.POST or None, initial={name: request.GET.get(name, "") for name in _KEPT})
    if form.is_valid():
        try:
            line = code_enter(actor=actor, data=form.data_of_code(), now=clock.now())
        except DomainError as error:
            add_domain_error(form, error)
        else:
            messages.success(request, _("On file: %(line)s.") % {"line": line})
            common = urlencode({name: getattr(line, name) for name in _KEPT})
            return redirect(f"{reverse('vehicles:code_create')}?{common}")
    return _page(request, form, None)


@require_http_methods(GET_OR_POST)
def code_edit(request: HttpRequest, code_id: int) -> HttpResponse:
    """Change a line."""
    actor = actor_of(request)
    line = load(codes_visible_to(actor), actor=actor, policy=may_keep_codes, pk=code_id)
    form = CodeForm(request.POST or None, initial=code_initial(line))
    if form.is_valid():
        try:
            code_change(actor=actor, meaning=line, data=form.data_of_code(), now=clock.now())
        except DomainError as error:
            add_domain_error(form, error)
        else:
            return redirect(codes_url(line.make, line.model))
    return _page(request, form, line)


@require_POST
def code_delete(request: HttpRequest, code_id: int) -> HttpResponse:
    """Take a line out."""
    actor = actor_of(request)
    line = load(codes_visible_to(actor), actor=actor, policy=may_keep_codes, pk=code_id)
    code_remove(actor=actor, meaning=line)
    messages.success(request, _("Taken out: %(line)s.") % {"line": line})
    return redirect(codes_url(line.make, line.model))


def codes_url(make: str, model: str) -> str:
    """Return the address of the table of a model."""
    return f"{reverse('vehicles:codes')}?{urlencode({'q': f'{make} {model}'})}"


def _page(request: HttpRequest, form: CodeForm, line: CodeMeaning | None) -> HttpResponse:
    status = 422 if form.is_bound else 200
    return render(request, "vehicles/code_form.html", {"form": form, "line": line}, status=status)
