"""The filters of the list of equipment in the API."""

from __future__ import annotations

import django_filters

from equipment.choices import PieceKind
from equipment.models import Piece
from shopcool.vehicles.choices import Refrigerant


class PieceFilter(django_filters.FilterSet):  # type: ignore[misc]
    """Narrow the pieces by kind, refrigerant, or whether a job has them now."""

    kind = django_filters.ChoiceFilter(choices=PieceKind.choices)
    refrigerant = django_filters.ChoiceFilter(choices=Refrigerant.choices)
    in_service = django_filters.BooleanFilter(field_name="state__in_service")

    class Meta:
        model = Piece
        fields = ["kind", "refrigerant", "in_service"]
