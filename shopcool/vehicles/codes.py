"""Reads of what vehicle makers' tables say about trouble codes."""

from __future__ import annotations

from functools import reduce
from operator import and_

import django_filters
from django.db.models import Q, QuerySet
from django.utils.translation import gettext_lazy as _

from shopcool.core.actors import Actor
from shopcool.vehicles.choices import CodeArea
from shopcool.vehicles.models import CodeMeaning, Vehicle
from shopcool.vehicles.policies import may_see_vehicles


def codes_visible_to(actor: Actor) -> QuerySet[CodeMeaning]:
    """Return the lines the actor may see, by model and code."""
    if not may_see_vehicles(actor):
        return CodeMeaning.objects.none()
    rows = CodeMeaning.objects.select_related("entered_by")
    return rows.order_by("make", "model", "code", "detail", "pk")


def codes_of(vehicle: Vehicle) -> QuerySet[CodeMeaning]:
    """Return the table of the vehicle's model."""
    return CodeMeaning.objects.filter(make__iexact=vehicle.make.strip(), model__iexact=vehicle.model.strip())


class CodeFilter(django_filters.FilterSet):  # type: ignore[misc]
    """Lines by make, model, code or meaning, for page and API alike."""

    q = django_filters.CharFilter(method="matching", label=_("Make, model, code or meaning"))
    area = django_filters.ChoiceFilter(choices=CodeArea.choices)

    class Meta:
        model = CodeMeaning
        fields: tuple[str, ...] = ()

    def matching(self, rows: QuerySet[CodeMeaning], name: str, value: str) -> QuerySet[CodeMeaning]:
        """Return the lines in which every word is found."""
        words = value.replace("-", " ").split()[:8]
        return rows.filter(reduce(and_, (_anywhere(word) for word in words))) if words else rows


def _anywhere(word: str) -> Q:
    columns = ("make", "model", "code", "detail", "meaning")
    found = Q()
    for column in columns:
        found |= Q(**{f"{column}__icontains": word})
    return found
