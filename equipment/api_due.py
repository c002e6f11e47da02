"""The REST door of what is due: maintenance, papers, competences and oil, across pieces and people."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import generics, serializers
from rest_framework.request import Request
from rest_framework.response import Response

from equipment.due import DueItem, DueKind
from equipment.due_selectors import due_items
from equipment.policies import may_see_equipment
from equipment.selectors import today_at
from shopcool.core import clock
from shopcool.people.requests import actor_of
from shopcool.shop.selectors import shop_get


class DueInput(serializers.Serializer[Any]):
    """How many days ahead, and perhaps of which kind."""

    days = serializers.IntegerField(min_value=0, max_value=366, default=30)
    kind = serializers.ChoiceField(choices=DueKind.choices, required=False)


class DueOutput(serializers.Serializer[DueItem]):
    """One thing that is due on a day; ``blocks`` says that what it is about is refused after that day.

    ``key`` stays the same as long as the same thing is meant. ``piece`` and ``lot`` are codes, ``person`` is
    a number; two of the three are empty.
    """

    key = serializers.CharField()
    kind = serializers.ChoiceField(choices=DueKind.choices)
    what = serializers.CharField()
    due_on = serializers.DateField()
    is_overdue = serializers.SerializerMethodField()
    blocks = serializers.BooleanField()
    piece = serializers.CharField(source="piece_code")
    lot = serializers.CharField(source="lot_code")
    person = serializers.IntegerField(source="user_id", allow_null=True)

    def get_is_overdue(self, item: DueItem) -> bool:
        """Return whether the day has passed at the workshop."""
        today: date = self.context["today"]
        return item.is_overdue(today)


class DueList(generics.GenericAPIView[Any]):
    """What is due, the most urgent first, overdue things included."""

    serializer_class = DueOutput
    filter_backends = ()

    @extend_schema(parameters=[DueInput], responses=DueOutput(many=True))
    def get(self, request: Request) -> Response:
        """Return what is due within so many days."""
        asked = DueInput(data=request.query_params)
        asked.is_valid(raise_exception=True)
        today = today_at(shop_get(), clock.now())
        until = today + timedelta(days=asked.validated_data["days"])
        items = due_items(today=today, until=until) if may_see_equipment(actor_of(request)) else []
        kind = asked.validated_data.get("kind")
        chosen = [item for item in items if kind in {None, item.kind.value}]
        page: Any = self.paginate_queryset(chosen)
        return self.get_paginated_response(DueOutput(page, many=True, context={"today": today}).data)
