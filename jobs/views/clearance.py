"""The clearance panel: choose, decide, connect; the owner's override; disconnecting."""

from __future__ import annotations

from collections.abc import Sequence

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from equipment.models import Connection
from equipment.policies import may_connect, may_override
from jobs.choices import StepKind
from jobs.forms.clearance import OverrideForm, chosen_pieces
from jobs.models import Job
from jobs.pages.clearance import clearance_panel
from jobs.pages.override import override_page
from jobs.pages.step import step_page
from jobs.policies import may_see_jobs
from jobs.services.connecting import job_connect, job_disconnect
from jobs.situation import Situation, situation_of
from jobs.views.loading import job_for
from shopcool.core import clock
from shopcool.core.actors import Actor
from shopcool.core.errors import DomainError
from shopcool.core.forms import add_domain_error

GET_OR_POST = ["GET", "HEAD", "POST"]


@require_http_methods(GET_OR_POST)
def clearance(request: HttpRequest, number: str) -> HttpResponse:
    """Show the panel; decide on a choice without connecting; or connect it if the decision permits."""
    actor, job = job_for(request, number, may_connect if request.method == "POST" else may_see_jobs)
    if request.method == "POST" and "check" not in request.POST:
        chosen = chosen_pieces(request.POST)
        if _connected(request, actor, job, chosen):
            return redirect("jobs:job", number=number)
        return _panel_page(request, actor, _situation(job, actor), chosen, status=409)
    situation = _situation(job, actor)
    if request.method == "POST" and request.htmx:  # type: ignore[attr-defined]
        return _decision(request, actor, situation)
    sent = request.POST or request.GET
    return _panel_page(request, actor, situation, chosen_pieces(sent) if sent else None)


@require_http_methods(GET_OR_POST)
def override(request: HttpRequest, number: str) -> HttpResponse:
    """Connect against a refusal on the owner's responsibility, with a written reason."""
    actor, job = job_for(request, number, may_override)
    chosen = chosen_pieces(request.POST or request.GET)
    form = OverrideForm(request.POST or None)
    if form.is_valid() and _overridden(request, actor, job, chosen, form):
        return redirect("jobs:job", number=number)
    situation = _situation(job, actor)
    page = override_page(actor=actor, situation=situation, chosen=chosen, now=clock.now())
    status = 422 if form.is_bound else 200
    return render(request, "jobs/override.html", {"page": page, "form": form, "job": job}, status=status)


@require_POST
def disconnect(request: HttpRequest, number: str) -> HttpResponse:
    """Take the ticked pieces off the vehicle."""
    actor, job = job_for(request, number, may_connect)
    try:
        ended = job_disconnect(actor=actor, job=job, piece_ids=chosen_pieces(request.POST), now=clock.now())
    except DomainError as error:
        messages.error(request, error.message)
        return redirect("jobs:job", number=number)
    if ended:
        messages.success(request, _("Disconnected: %(pieces)s.") % {"pieces": _codes(ended)})
    else:
        messages.warning(request, _("No piece was ticked, so all of them stay on the car."))
    return redirect("jobs:job", number=number)


def _connected(request: HttpRequest, actor: Actor, job: Job, chosen: Sequence[int]) -> bool:
    """Ask for the connection; a refusal stays on record and on the page."""
    situation = _situation(job, actor)
    hanging = {row.piece_id for row in situation.connections if row.disconnected_at is None}
    if chosen and hanging.issuperset(chosen):
        return True  # the same form sent twice
    try:
        outcome = job_connect(actor=actor, job=job, piece_ids=chosen, now=clock.now())
    except DomainError as error:
        messages.error(request, error.message)
        return False
    if outcome.connected:
        messages.success(request, _("Connected: %(pieces)s.") % {"pieces": _codes(outcome.connections)})
    return outcome.connected


def _overridden(
    request: HttpRequest, actor: Actor, job: Job, chosen: Sequence[int], form: OverrideForm
) -> bool:
    """Connect with the owner's reason; a refusal goes onto the form."""
    reason = form.cleaned_data["reason"]
    try:
        outcome = job_connect(actor=actor, job=job, piece_ids=chosen, now=clock.now(), override_reason=reason)
    except DomainError as error:
        add_domain_error(form, error)
        return False
    messages.warning(
        request,
        _("Connected on your responsibility: %(pieces)s.") % {"pieces": _codes(outcome.connections)},
    )
    return True


def _decision(request: HttpRequest, actor: Actor, situation: Situation) -> HttpResponse:
    chosen = chosen_pieces(request.POST)
    panel = clearance_panel(actor=actor, situation=situation, chosen=chosen, now=clock.now())
    return render(request, "jobs/_decision.html", {"decision": panel.decision})


def _panel_page(
    request: HttpRequest,
    actor: Actor,
    situation: Situation,
    chosen: Sequence[int] | None,
    status: int = 200,
) -> HttpResponse:
    page = step_page(
        actor=actor,
        situation=situation,
        kind=StepKind.CONNECTION,
        now=clock.now(),
        chosen=chosen,
    )
    return render(request, "jobs/step.html", {"page": page, "job": situation.job}, status=status)


def _situation(job: Job, actor: Actor) -> Situation:
    return situation_of(job, now=clock.now(), units=actor.units)


def _codes(connections: Sequence[Connection]) -> str:
    return ", ".join(sorted(connection.piece.code for connection in connections))
