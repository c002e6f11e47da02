"""The form of a circuit."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from shopcool.core import clock
from shopcool.core.errors import DomainError
from shopcool.core.forms import add_domain_error
from shopcool.core.loaders import load
from shopcool.people.requests import actor_of, safe_next
from shopcool.shop.selectors import shop_of
from shopcool.shop.units import units_for
from shopcool.vehicles.forms import CircuitForm, circuit_initial
from shopcool.vehicles.models import Circuit, Vehicle
from shopcool.vehicles.policies import may_change_circuit
from shopcool.vehicles.selectors import circuits_visible_to, vehicles_visible_to
from shopcool.vehicles.services.circuits import circuit_create, circuit_update

GET_OR_POST = ["GET", "HEAD", "POST"]


def vehicle_url(vehicle_id: int) -> str:
    """Return the address of the page of a vehicle."""
    return reverse("vehicles:detail", kwargs={"vehicle_id": vehicle_id})


@require_http_methods(GET_OR_POST)
def circuit_new(request: HttpRequest, vehicle_id: int) -> HttpResponse:
    """Enter another circuit of a vehicle."""
    actor = actor_of(request)
    vehicle = load(vehicles_visible_to(actor), actor=actor, policy=may_change_circuit, pk=vehicle_id)
    form = CircuitForm(request.POST or None, initial={"name": ""})
    form.ask_in(units_for(shop_of(request), actor.units))
    if form.is_valid():
        try:
            circuit_create(actor=actor, vehicle_id=vehicle_id, data=form.circuit_data(), now=clock.now())
        except DomainError as error:
            add_domain_error(form, error)
        else:
            return redirect(vehicle_url(vehicle_id))
    return _page(request, form, vehicle, None)


@require_http_methods(GET_OR_POST)
def circuit_edit(request: HttpRequest, circuit_id: int) -> HttpResponse:
    """Change what the label of a circuit says, then go back to where the person came from."""
    actor = actor_of(request)
    circuit = load(circuits_visible_to(actor), actor=actor, policy=may_change_circuit, pk=circuit_id)
    form = CircuitForm(request.POST or None, initial=circuit_initial(circuit))
    form.ask_in(units_for(shop_of(request), actor.units))
    if form.is_valid():
        try:
            circuit_update(actor=actor, circuit_id=circuit_id, data=form.circuit_data(), now=clock.now())
        except DomainError as error:
            add_domain_error(form, error)
        else:
            return redirect(safe_next(request) or vehicle_url(circuit.vehicle_id))
    return _page(request, form, circuit.vehicle, circuit)


def _page(request: HttpRequest, form: CircuitForm, vehicle: Vehicle, circuit: Circuit | None) -> HttpResponse:
    back = safe_next(request)
    context = {"form": form, "vehicle": vehicle, "circuit": circuit, "next": back}
    context["back"] = back or vehicle_url(vehicle.pk)
    return render(request, "vehicles/circuit_form.html", context, status=422 if form.is_bound else 200)
