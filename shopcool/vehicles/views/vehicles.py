"""The list of vehicles, the page of a vehicle, and its form."""

from __future__ import annotations

from typing import Any

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from shopcool.attachments.gallery import gallery
from shopcool.core import clock
from shopcool.core.errors import DomainError, require
from shopcool.core.forms import add_domain_error
from shopcool.core.loaders import load
from shopcool.people.requests import actor_of
from shopcool.shop.selectors import shop_of
from shopcool.shop.units import units_for
from shopcool.vehicles.attachments import vehicle_parent
from shopcool.vehicles.filters import VehicleFilter
from shopcool.vehicles.forms import NewVehicleForm, VehicleForm, vehicle_initial
from shopcool.vehicles.models import Vehicle
from shopcool.vehicles.policies import may_change_circuit, may_keep_vehicles, may_see_vehicles
from shopcool.vehicles.selectors import vehicle_sheet, vehicles_visible_to
from shopcool.vehicles.services.vehicles import vehicle_create, vehicle_update
from shopcool.vehicles.sheets import circuit_pages
from shopcool.vehicles.views.codes import codes_url

GET_OR_POST = ["GET", "HEAD", "POST"]
PER_PAGE = 25


@require_safe
def vehicle_list(request: HttpRequest) -> HttpResponse:
    """Show the vehicles, those that a search names or all, newest first."""
    actor = actor_of(request)
    require(may_see_vehicles(actor))
    found = VehicleFilter(request.GET, queryset=vehicles_visible_to(actor))
    page = Paginator(found.qs, PER_PAGE).get_page(request.GET.get("page"))
    context = {"filter": found, "page": page, "query": request.GET.get("q", "").strip()}
    return render(request, "vehicles/vehicle_list.html", context)


@require_safe
def vehicle_detail(request: HttpRequest, vehicle_id: int) -> HttpResponse:
    """Show a vehicle with its circuits, what is odd and what is missing."""
    actor = actor_of(request)
    vehicle = load(vehicles_visible_to(actor), actor=actor, policy=may_see_vehicles, pk=vehicle_id)
    sheet, shop = vehicle_sheet(vehicle), shop_of(request)
    units = units_for(shop, actor.units)
    context = {
        "vehicle": vehicle,
        "sheet": sheet,
        "circuits": circuit_pages(sheet, actor, shop, units),
        "may_change_circuit": may_change_circuit(actor),
        "codes_url": codes_url(vehicle.make, vehicle.model),
        "gallery": gallery(actor, vehicle_parent(vehicle)),
    }
    return render(request, "vehicles/vehicle_detail.html", context)


@require_http_methods(GET_OR_POST)
def vehicle_new(request: HttpRequest) -> HttpResponse:
    """Enter a vehicle with its first circuit."""
    actor = actor_of(request)
    require(may_keep_vehicles(actor))
    start = {"registration": request.GET.get("registration", "")}
    form = NewVehicleForm(_answered(request.POST) if request.POST else None, initial=start)
    form.ask_in(units_for(shop_of(request), actor.units))
    refusal: DomainError | None = None
    if form.is_valid():
        try:
            vehicle = vehicle_create(
                actor=actor,
                data=form.vehicle_data(),
                circuit=form.circuit_data(),
                now=clock.now(),
                submission_key=form.cleaned_data["submission_key"],
            )
        except DomainError as error:
            add_domain_error(form, error)
            refusal = error
        else:
            return redirect("vehicles:detail", vehicle_id=vehicle.pk)
    context = {"form": form, **_question(refusal)}
    return render(request, "vehicles/vehicle_new.html", context, status=422 if form.is_bound else 200)


@require_http_methods(GET_OR_POST)
def vehicle_edit(request: HttpRequest, vehicle_id: int) -> HttpResponse:
    """Change a vehicle and its customer."""
    actor = actor_of(request)
    vehicle = load(vehicles_visible_to(actor), actor=actor, policy=may_keep_vehicles, pk=vehicle_id)
    data = _answered(request.POST) if request.POST else None
    form = VehicleForm(data, initial=vehicle_initial(vehicle))
    refusal: DomainError | None = None
    if form.is_valid():
        try:
            vehicle_update(actor=actor, vehicle_id=vehicle_id, data=form.vehicle_data(), now=clock.now())
        except DomainError as error:
            add_domain_error(form, error)
            refusal = error
        else:
            return redirect("vehicles:detail", vehicle_id=vehicle_id)
    context = {"form": form, "vehicle": vehicle, **_question(refusal)}
    return render(request, "vehicles/vehicle_edit.html", context, status=422 if form.is_bound else 200)


def _answered(posted: QueryDict) -> QueryDict:
    """Return what was posted, with the number that the person accepted in the place of the typed one."""
    accepted = posted.get("accepted_vin")
    if not accepted:
        return posted
    data = posted.copy()
    data["vin"] = accepted
    return data


def _question(refusal: DomainError | None) -> dict[str, Any]:
    """Return what a refusal asks back: a number to accept, or the vehicle that is known already."""
    details = refusal.details if refusal else {}
    known = Vehicle.objects.filter(pk__in=[details.get("vehicle_id")]).first()
    asks_plate = refusal is not None and refusal.code == "plate_known"
    return {"suggestion": details.get("suggestion"), "known": known, "asks_plate": asks_plate}
