"""The REST doors that keep vehicles and circuits, for another shop system that knows them already."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from shopcool.core.clock import now
from shopcool.core.fields import QuantitySerializerField
from shopcool.core.loaders import load
from shopcool.engineering.quantities import Kind
from shopcool.people.requests import actor_of
from shopcool.vehicles import data as limits
from shopcool.vehicles.api import CircuitOutput, VehicleList, VehicleOutput
from shopcool.vehicles.choices import Drive, Lubricant, Metering, Refrigerant
from shopcool.vehicles.data import CircuitData, CustomerData, VehicleData
from shopcool.vehicles.fields import LabelChargeSerializerField
from shopcool.vehicles.policies import may_change_circuit, may_see_vehicles
from shopcool.vehicles.selectors import circuit_data, circuits_visible_to
from shopcool.vehicles.services.circuits import circuit_update
from shopcool.vehicles.services.vehicles import vehicle_create


def _quantity(kind: Kind, unit: str, minimum: float, maximum: float) -> QuantitySerializerField:
    return QuantitySerializerField(
        kind=kind, default_unit=unit, minimum=minimum, maximum=maximum, required=False, allow_null=True
    )


class CircuitInput(serializers.Serializer[Any]):
    """A circuit as its label says; null and UNKNOWN stay unknown.

    ``oil_rule`` is the vehicle maker's rule for its oil, one statement a line and in ml, with its source.
    """

    drive = serializers.ChoiceField(choices=Drive.choices)
    name = serializers.CharField(max_length=60, required=False)
    refrigerant = serializers.ChoiceField(choices=Refrigerant.choices, required=False)
    charge = LabelChargeSerializerField(required=False, allow_null=True)
    lubricant = serializers.ChoiceField(choices=Lubricant.choices, required=False)
    lubricant_grade = serializers.CharField(max_length=60, allow_blank=True, required=False)
    oil = _quantity(Kind.VOLUME, "ml", limits.SMALLEST_OIL_M3, limits.LARGEST_OIL_M3)
    working_voltage = _quantity(Kind.VOLTAGE, "V", limits.SMALLEST_VOLTAGE_V, limits.LARGEST_VOLTAGE_V)
    metering = serializers.ChoiceField(choices=Metering.choices, required=False)
    high_voltage_wait_minutes = serializers.IntegerField(
        min_value=0, max_value=limits.LONGEST_WAIT_MINUTES, required=False, allow_null=True
    )
    label_source = serializers.CharField(max_length=120, allow_blank=True, required=False)
    oil_rule = serializers.CharField(max_length=10_000, allow_blank=True, required=False)
    no_dye = serializers.BooleanField(required=False)
    dedicated_hoses = serializers.BooleanField(required=False)
    search_pressure = _quantity(Kind.PRESSURE, "bar", limits.LOWEST_SEARCH_PA, limits.HIGHEST_SEARCH_PA)
    search_temperature = _quantity(Kind.TEMPERATURE, "°C", limits.COLDEST_SEARCH_K, limits.WARMEST_SEARCH_K)
    maker_source = serializers.CharField(max_length=160, allow_blank=True, required=False)


class VehicleInput(serializers.Serializer[Any]):
    """A vehicle with its first circuit; sent twice with one ``submission_key`` it is one vehicle."""

    registration = serializers.CharField(max_length=20)
    make = serializers.CharField(max_length=60)
    model = serializers.CharField(max_length=60)
    model_year = serializers.IntegerField(
        min_value=limits.FIRST_MODEL_YEAR, max_value=9999, required=False, allow_null=True
    )
    vin = serializers.CharField(max_length=40, allow_blank=True, required=False)
    vin_reason = serializers.CharField(max_length=200, allow_blank=True, required=False)
    customer_name = serializers.CharField(max_length=160, allow_blank=True, default="")
    customer_phone = serializers.CharField(max_length=60, allow_blank=True, default="")
    customer_email = serializers.EmailField(allow_blank=True, default="")
    same_registration = serializers.BooleanField(required=False)
    circuit = CircuitInput()
    submission_key = serializers.UUIDField(required=False, allow_null=True)

    def vehicle_data(self) -> VehicleData:
        """Return what was sent about the vehicle, for the service."""
        sent = dict(self.validated_data)
        name, phone, email = (sent.pop(f"customer_{part}") for part in ("name", "phone", "email"))
        del sent["circuit"]
        sent.pop("submission_key", None)
        customer = CustomerData(name, phone, email) if name or phone or email else None
        return VehicleData(customer=customer, **sent)

    def circuit_data(self) -> CircuitData:
        """Return what was sent about its circuit, for the service."""
        return CircuitData(**self.validated_data["circuit"])


class VehicleDoor(VehicleList):
    """The vehicles, newest first, and the door that enters one; ``q`` searches them."""

    @extend_schema(request=VehicleInput, responses={201: VehicleOutput})
    def post(self, request: Request) -> Response:
        """Enter a vehicle with its first circuit."""
        sent = VehicleInput(data=request.data)
        sent.is_valid(raise_exception=True)
        vehicle = vehicle_create(
            actor=actor_of(request),
            data=sent.vehicle_data(),
            circuit=sent.circuit_data(),
            now=now(),
            submission_key=sent.validated_data.get("submission_key"),
        )
        return Response(VehicleOutput(vehicle).data, status=status.HTTP_201_CREATED)


class CircuitDetail(APIView):
    """One circuit, with the vehicle maker's rule for its oil."""

    @extend_schema(responses=CircuitOutput)
    def get(self, request: Request, pk: int) -> Response:
        """Return what the label says."""
        actor = actor_of(request)
        circuit = load(circuits_visible_to(actor), actor=actor, policy=may_see_vehicles, pk=pk)
        return Response(CircuitOutput(circuit).data)

    @extend_schema(request=CircuitInput(partial=True), responses=CircuitOutput)
    def patch(self, request: Request, pk: int) -> Response:
        """Change the fields that are sent; everything else stays as it was entered."""
        actor = actor_of(request)
        circuit = load(circuits_visible_to(actor), actor=actor, policy=may_change_circuit, pk=pk)
        sent = CircuitInput(data=request.data, partial=True)
        sent.is_valid(raise_exception=True)
        changed = replace(circuit_data(circuit), **sent.validated_data)
        circuit = circuit_update(actor=actor, circuit_id=pk, data=changed, now=now())
        return Response(CircuitOutput(circuit).data)
