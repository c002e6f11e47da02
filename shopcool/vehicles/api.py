"""The REST doors of vehicles: read the list and one vehicle with its circuits."""

from __future__ import annotations

from django.db.models import QuerySet
from rest_framework import generics, serializers

from shopcool.people.requests import actor_of
from shopcool.vehicles.filters import VehicleFilter
from shopcool.vehicles.models import Circuit, Vehicle
from shopcool.vehicles.selectors import vehicles_visible_to


class CircuitOutput(serializers.ModelSerializer[Circuit]):
    """A circuit: masses in kg, oil in m³, voltage in V; null and UNKNOWN mean that nobody knows."""

    is_high_voltage = serializers.BooleanField(read_only=True)

    class Meta:
        model = Circuit
        fields = [
            "id",
            "name",
            "refrigerant",
            "charge_kg",
            "charge_typed",
            "tolerance_kg",
            "tolerance_typed",
            "lubricant",
            "lubricant_grade",
            "oil_m3",
            "oil_typed",
            "drive",
            "is_high_voltage",
            "working_voltage_v",
            "metering",
            "high_voltage_wait_minutes",
            "oil_rule",
            "no_dye",
            "dedicated_hoses",
            "search_pressure_pa",
            "search_temperature_k",
            "maker_source",
            "label_source",
            "suspected_lubricants",
        ]
        read_only_fields = fields


class VehicleOutput(serializers.ModelSerializer[Vehicle]):
    """A vehicle with its circuits."""

    customer = serializers.CharField(source="customer.name", default="", read_only=True)
    circuits = CircuitOutput(many=True, read_only=True)

    class Meta:
        model = Vehicle
        fields = ["id", "registration", "vin", "make", "model", "model_year", "customer", "circuits"]
        read_only_fields = fields


class VehicleList(generics.ListAPIView[Vehicle]):
    """The vehicles, newest first; ``q`` searches plate, VIN, make, model and customer."""

    serializer_class = VehicleOutput
    filterset_class = VehicleFilter
    queryset = Vehicle.objects.none()

    def get_queryset(self) -> QuerySet[Vehicle]:
        """Return what the person behind the request may see."""
        return vehicles_visible_to(actor_of(self.request))


class VehicleDetail(generics.RetrieveAPIView[Vehicle]):
    """One vehicle."""

    serializer_class = VehicleOutput
    queryset = Vehicle.objects.none()

    def get_queryset(self) -> QuerySet[Vehicle]:
        """Return what the person behind the request may see."""
        return vehicles_visible_to(actor_of(self.request))
