"""Quick booking: find the car or name a new one, then say when it comes and for what."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from jobs.forms.booking import BookingForm, NewVehicleForm
from jobs.models import Job
from jobs.pages.today import day_url
from jobs.policies import may_book
from jobs.search import cars_to_book
from jobs.services.arrivals import arrival_book, visit_book
from shopcool.core import clock
from shopcool.core.actors import Actor
from shopcool.core.errors import DomainError, require
from shopcool.core.forms import add_domain_error
from shopcool.core.loaders import load
from shopcool.people.requests import actor_of
from shopcool.vehicles.models import Circuit
from shopcool.vehicles.selectors import circuits_visible_to
from shopcool.vehicles.services.vehicles import PlateKnown


@require_http_methods(["GET", "HEAD", "POST"])
def book(request: HttpRequest) -> HttpResponse:
    """Find a car, or name a new one, and book it in."""
    actor = actor_of(request)
    require(may_book(actor))
    query = request.GET.get("q", "")
    if request.htmx:  # type: ignore[attr-defined]
        return render(request, "jobs/_cars_found.html", {"cars": cars_to_book(actor, query), "query": query})
    circuit = _circuit(actor, request.GET.get("circuit", ""))
    form = _form(request.POST or None, circuit, query)
    if form.is_valid() and (job := _booked(request, actor, circuit, form)):
        return redirect(day_url(job.booked_for))
    shown = {"form": form, "circuit": circuit, "query": query, "cars": cars_to_book(actor, query)}
    return render(request, "jobs/book.html", shown, status=422 if form.is_bound else 200)


def _circuit(actor: Actor, number: str) -> Circuit | None:
    if not number.isdecimal():
        return None
    return load(circuits_visible_to(actor), actor=actor, policy=may_book, pk=int(number))


def _form(sent: QueryDict | None, circuit: Circuit | None, query: str) -> BookingForm:
    initial: dict[str, object] = {"booked_for": _next_quarter(clock.now())}
    if circuit is not None:
        return BookingForm(sent, initial=initial)
    plate = query.upper()[:20] if any(letter.isdigit() for letter in query) else ""
    return NewVehicleForm(sent, initial={**initial, "registration": plate})


def _next_quarter(now: datetime) -> datetime:
    """Return the next full quarter of an hour at the workshop."""
    local = timezone.localtime(now)
    return local + timedelta(minutes=15 - local.minute % 15) - timedelta(seconds=local.second)


def _booked(request: HttpRequest, actor: Actor, circuit: Circuit | None, form: BookingForm) -> Job | None:
    """Book the visit; a refusal goes onto the form, which keeps everything that was typed."""
    now = clock.now()
    try:
        if circuit is not None:
            job = visit_book(actor=actor, circuit=circuit, booking=form.booking, now=now)
        elif isinstance(form, NewVehicleForm):
            job = arrival_book(
                actor=actor,
                vehicle=form.vehicle,
                circuit=form.circuit,
                booking=form.booking,
                submission_key=form.key,
                now=now,
            )
    except DomainError as error:
        add_domain_error(form, error)
        if isinstance(error, PlateKnown) and isinstance(form, NewVehicleForm):
            form.ask_about_plate()
        return None
    named = {"car": job.circuit.vehicle, "job": job.number}
    messages.success(request, _("Booked: %(car)s, %(job)s.") % named)
    return job
