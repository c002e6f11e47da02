"""The REST doors of the oil: lots, and filling an injector from one."""

from __future__ import annotations

from typing import Any

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework import generics, serializers, status
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from equipment.choices import PieceKind
from equipment.oil.filling import injector_fill
from equipment.oil.grades import LARGEST_CONTAINER_M3, LARGEST_DENSITY, SMALLEST_DENSITY, LotState
from equipment.oil.lots import LotDescription, oil_lot_receive
from equipment.oil.models import OilLot, OilMove
from equipment.oil.selectors import LotNow, lot_now, lots_now, lots_visible_to
from equipment.policies import may_handle_oil, may_see_equipment
from equipment.selectors import pieces_visible_to
from shopcool.core.clock import now
from shopcool.core.fields import QuantitySerializerField
from shopcool.core.loaders import load
from shopcool.engineering.quantities import Kind
from shopcool.people.requests import actor_of
from shopcool.shop.selectors import shop_get
from shopcool.vehicles.choices import Lubricant


class OilLotFilter(django_filters.FilterSet):  # type: ignore[misc]
    """Narrow the lots by oil class, or to those that were or were not found bad."""

    lubricant = django_filters.ChoiceFilter(choices=Lubricant.choices)
    is_bad = django_filters.BooleanFilter(field_name="bad_at", lookup_expr="isnull", exclude=True)

    class Meta:
        model = OilLot
        fields = ["lubricant", "is_bad"]


class OilLotOutput(serializers.Serializer[LotNow]):
    """A lot with what is left of it [m³, kg] and its state; only OPEN, SEALED and LOW may be dispensed."""

    code = serializers.CharField(source="lot.code")
    lubricant = serializers.ChoiceField(choices=Lubricant.choices, source="lot.lubricant")
    grade = serializers.CharField(source="lot.grade")
    supplier = serializers.CharField(source="lot.supplier")
    batch = serializers.CharField(source="lot.batch")
    container_m3 = serializers.FloatField(source="lot.container_m3")
    container_typed = serializers.CharField(source="lot.container_typed")
    density_kg_m3 = serializers.FloatField(source="lot.density_kg_m3")
    density_source = serializers.CharField(source="lot.density_source")
    received_on = serializers.DateField(source="lot.received_on")
    opened_at = serializers.DateTimeField(source="lot.opened_at", allow_null=True)
    days_open = serializers.IntegerField(allow_null=True)
    limit_days = serializers.IntegerField(allow_null=True)
    left_m3 = serializers.FloatField(source="volume_m3")
    left_kg = serializers.FloatField(source="mass_kg")
    low_m3 = serializers.FloatField(source="lot.low_m3", allow_null=True)
    state = serializers.ChoiceField(choices=[(state.value, state.value) for state in LotState])
    bad_reason = serializers.CharField(source="lot.bad_reason")


class OilLotInput(serializers.Serializer[Any]):
    """A container as it came; sent twice with one ``submission_key`` it is one lot."""

    code = serializers.CharField(max_length=20)
    lubricant = serializers.ChoiceField(choices=Lubricant.choices)
    grade = serializers.CharField(max_length=60)
    supplier = serializers.CharField(max_length=120)
    batch = serializers.CharField(max_length=80)
    container = QuantitySerializerField(
        kind=Kind.VOLUME, default_unit="ml", minimum=0.0, maximum=LARGEST_CONTAINER_M3
    )
    density = QuantitySerializerField(
        kind=Kind.DENSITY, default_unit="g/ml", minimum=SMALLEST_DENSITY, maximum=LARGEST_DENSITY
    )
    density_source = serializers.CharField(max_length=160)
    received_on = serializers.DateField()
    low = QuantitySerializerField(
        kind=Kind.VOLUME,
        default_unit="ml",
        minimum=0.0,
        maximum=LARGEST_CONTAINER_M3,
        required=False,
        allow_null=True,
    )
    submission_key = serializers.UUIDField(required=False, allow_null=True)


class OilFillInput(serializers.Serializer[Any]):
    """Which injector is filled and with how much; sent twice with one ``submission_key`` it fills once."""

    injector = serializers.CharField(max_length=20)
    amount = QuantitySerializerField(
        kind=Kind.VOLUME, default_unit="ml", minimum=0.0, maximum=LARGEST_CONTAINER_M3
    )
    submission_key = serializers.UUIDField(required=False, allow_null=True)


class OilMoveOutput(serializers.ModelSerializer[OilMove]):
    """Oil that moved [m³, kg], with what was typed."""

    class Meta:
        model = OilMove
        fields = ["sequence", "kind", "volume_m3", "mass_kg", "typed", "job_number", "occurred_at", "hash"]
        read_only_fields = fields


class OilLotList(generics.ListAPIView[OilLot]):
    """The lots, by code."""

    serializer_class = OilLotOutput  # type: ignore[assignment]
    filterset_class = OilLotFilter
    queryset = OilLot.objects.none()

    def get_queryset(self) -> QuerySet[OilLot]:
        """Return what the person behind the request may see."""
        return lots_visible_to(actor_of(self.request))

    def paginate_queryset(self, queryset: Any) -> Any:
        """Return one page of lots as they are now."""
        page = super().paginate_queryset(queryset)
        return None if page is None else lots_now(page, shop=shop_get(), now=now())

    @extend_schema(request=OilLotInput, responses={201: OilLotOutput})
    def post(self, request: Request) -> Response:
        """Put a new container on the shelf."""
        actor = actor_of(request)
        sent = OilLotInput(data=request.data)
        sent.is_valid(raise_exception=True)
        values = {"low": None, **sent.validated_data}
        key, moment = values.pop("submission_key", None), now()
        lot = oil_lot_receive(
            actor=actor, description=LotDescription(**values), now=moment, submission_key=key
        )
        found = lot_now(lot, shop=shop_get(), now=moment)
        return Response(OilLotOutput(found).data, status=status.HTTP_201_CREATED)


class OilLotDetail(APIView):
    """One lot, by its code."""

    @extend_schema(responses=OilLotOutput)
    def get(self, request: Request, code: str) -> Response:
        """Return the lot as it is now."""
        actor = actor_of(request)
        lot = load(lots_visible_to(actor), actor=actor, policy=may_see_equipment, code=code)
        return Response(OilLotOutput(lot_now(lot, shop=shop_get(), now=now())).data)


class OilLotFill(APIView):
    """Fill an injector from a lot of its own class and grade."""

    @extend_schema(request=OilFillInput, responses={201: OilMoveOutput})
    def post(self, request: Request, code: str) -> Response:
        """Book the oil into the injector and note in its log what it has held."""
        actor = actor_of(request)
        lot = load(lots_visible_to(actor), actor=actor, policy=may_handle_oil, code=code)
        sent = OilFillInput(data=request.data)
        sent.is_valid(raise_exception=True)
        values = sent.validated_data
        injectors = pieces_visible_to(actor).filter(kind=PieceKind.INJECTOR)
        move = injector_fill(
            actor=actor,
            injector=load(injectors, actor=actor, policy=may_handle_oil, code=values["injector"]),
            lot=lot,
            amount=values["amount"],
            now=now(),
            submission_key=values.get("submission_key"),
        )
        return Response(OilMoveOutput(move).data, status=status.HTTP_201_CREATED)
