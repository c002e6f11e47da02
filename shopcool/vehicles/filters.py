"""The filters of the list of vehicles, for page and API alike."""

from __future__ import annotations

import django_filters
from django.db.models import QuerySet
from django.utils.translation import gettext_lazy as _

from shopcool.vehicles.choices import Refrigerant
from shopcool.vehicles.models import Vehicle
from shopcool.vehicles.selectors import HIGH_VOLTAGE_DRIVES, vehicles_matching


class VehicleFilter(django_filters.FilterSet):  # type: ignore[misc]
    """Vehicles by what somebody remembers of them."""

    q = django_filters.CharFilter(method="matching", label=_("Plate, VIN, model or customer"))
    refrigerant = django_filters.ChoiceFilter(
        choices=Refrigerant.choices, method="filled_with", label=_("Refrigerant")
    )
    high_voltage = django_filters.BooleanFilter(method="driven", label=_("High-voltage drive"))

    class Meta:
        model = Vehicle
        fields: tuple[str, ...] = ()

    def matching(self, vehicles: QuerySet[Vehicle], name: str, value: str) -> QuerySet[Vehicle]:
        """Return the vehicles that the text names."""
        return vehicles_matching(vehicles, value)

    def filled_with(self, vehicles: QuerySet[Vehicle], name: str, value: str) -> QuerySet[Vehicle]:
        """Return the vehicles that have a circuit with the refrigerant."""
        return vehicles.filter(circuits__refrigerant=value).distinct()

    def driven(self, vehicles: QuerySet[Vehicle], name: str, value: bool) -> QuerySet[Vehicle]:
        """Return the vehicles with, or without, a high-voltage drive."""
        if value:
            return vehicles.filter(circuits__drive__in=HIGH_VOLTAGE_DRIVES).distinct()
        return vehicles.exclude(circuits__drive__in=HIGH_VOLTAGE_DRIVES)
