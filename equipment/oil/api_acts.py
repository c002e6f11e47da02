"""The REST doors for what happens to a lot, or to what an injector holds; the pages use the same services."""

from __future__ import annotations

from typing import Any, cast

from django.utils.translation import gettext as _
from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from equipment.choices import PieceKind
from equipment.models import Piece
from equipment.oil.api import OilLotOutput, OilMoveOutput
from equipment.oil.bad import oil_lot_found_bad
from equipment.oil.grades import LARGEST_CONTAINER_M3, LARGEST_DENSITY
from equipment.oil.lots import oil_lot_level_set, oil_lot_open, oil_measured, oil_waste
from equipment.oil.models import OilLot, OilMove, OilStore, OilTest
from equipment.oil.selectors import lot_now, lots_visible_to
from equipment.oil.stores import store_of_injector, store_of_lot
from equipment.oil.vials import VialReadings, oil_lot_test
from equipment.policies import may_handle_oil
from equipment.selectors import pieces_visible_to
from shopcool.core import clock
from shopcool.core.actors import Actor
from shopcool.core.fields import QuantitySerializerField
from shopcool.core.loaders import load
from shopcool.engineering.quantities import Kind, Quantity
from shopcool.people.requests import actor_of
from shopcool.shop.selectors import shop_get


def _volume(**options: Any) -> QuantitySerializerField:
    return QuantitySerializerField(
        kind=Kind.VOLUME, default_unit="ml", minimum=0.0, maximum=LARGEST_CONTAINER_M3, **options
    )


def _resistance(**options: Any) -> QuantitySerializerField:
    return QuantitySerializerField(
        kind=Kind.RESISTANCE, default_unit="MΩ", minimum=0.0, maximum=1e15, **options
    )


def _voltage(**options: Any) -> QuantitySerializerField:
    return QuantitySerializerField(
        kind=Kind.VOLTAGE, default_unit="V", minimum=1.0, maximum=5000.0, **options
    )


class OilOpenInput(serializers.Serializer[Any]):
    """When a container was first opened; now, when nothing is sent."""

    occurred_at = serializers.DateTimeField(required=False, allow_null=True)


class OilMeasureInput(serializers.Serializer[Any]):
    """What is left: ``amount`` measured, or ``weighed`` without the container, one of them.

    Sent twice with one ``submission_key`` a difference is booked once.
    """

    amount = _volume(required=False, allow_null=True)
    weighed = QuantitySerializerField(
        kind=Kind.MASS,
        default_unit="g",
        minimum=0.0,
        maximum=LARGEST_CONTAINER_M3 * LARGEST_DENSITY,
        required=False,
        allow_null=True,
    )
    note = serializers.CharField(max_length=300, default="", allow_blank=True)
    submission_key = serializers.UUIDField(required=False, allow_null=True)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Ask for exactly one of the two."""
        given = [attrs[name] for name in ("amount", "weighed") if attrs.get(name) is not None]
        if len(given) != 1:
            sentence = _("Enter what was measured or what was weighed, one of them.")
            raise serializers.ValidationError({"amount": sentence})
        return {**attrs, "found": given[0]}


class OilHeldOutput(serializers.Serializer[Any]):
    """What is inside by the books now [m³, kg], and the difference that was booked, if any."""

    left_m3 = serializers.FloatField(source="store.volume_m3")
    left_kg = serializers.FloatField(source="store.mass_kg")
    booked = OilMoveOutput(allow_null=True)


class OilWasteInput(serializers.Serializer[Any]):
    """How much goes into the waste and why; without an ``amount`` everything that is left.

    Sent twice with one ``submission_key`` it is taken out once.
    """

    amount = _volume(required=False, allow_null=True)
    note = serializers.CharField(max_length=300)
    submission_key = serializers.UUIDField(required=False, allow_null=True)


class VialTestInput(serializers.Serializer[Any]):
    """A vial under an insulation tester; a reading beyond its range is sent as shown, ``> 2.2 GΩ``.

    Sent twice with one ``submission_key`` it is one test.
    """

    resistance = _resistance()
    mixed = serializers.BooleanField()
    nominal_voltage = _voltage()
    actual_voltage = _voltage(required=False, allow_null=True)
    unmixed = _resistance(required=False, allow_null=True)
    other_lot = _resistance(required=False, allow_null=True)
    occurred_at = serializers.DateTimeField(required=False, allow_null=True)
    note = serializers.CharField(max_length=300, default="", allow_blank=True)
    submission_key = serializers.UUIDField(required=False, allow_null=True)


class VialTestOutput(serializers.ModelSerializer[OilTest]):
    """A vial test with its verdict; one that ``speaks_against`` the oil stops the lot."""

    class Meta:
        model = OilTest
        fields = ["sequence", "verdict", "sentence", "speaks_against", "occurred_at", "note", "hash"]
        read_only_fields = fields


class OilLevelInput(serializers.Serializer[Any]):
    """Below which amount oil of this class and grade is ordered again; null for no level."""

    low = _volume(allow_null=True)


class OilBadInput(serializers.Serializer[Any]):
    """What is wrong with a lot and how it is known; it can't be taken back."""

    note = serializers.CharField(max_length=300)


class OilBadOutput(serializers.Serializer[Any]):
    """The stopped lot, and the numbers of the incidents that this raised."""

    lot = OilLotOutput()
    incidents = serializers.ListField(child=serializers.IntegerField())


class OilLotOpen(APIView):
    """Note when a container was first opened."""

    @extend_schema(request=OilOpenInput, responses=OilLotOutput)
    def post(self, request: Request, code: str) -> Response:
        """From then on its days count."""
        actor, lot = _lot(request, code)
        now, sent = clock.now(), _values(OilOpenInput, request)
        lot = oil_lot_open(actor=actor, lot=lot, opened_at=sent.get("occurred_at") or now, now=now)
        return Response(_lot_output(lot))


class OilLotMeasure(APIView):
    """Measure what is left in a lot."""

    @extend_schema(request=OilMeasureInput, responses=OilHeldOutput)
    def post(self, request: Request, code: str) -> Response:
        """Book what was found beyond the books as a difference."""
        actor, lot = _lot(request, code)
        return _measure(request, actor, lot)


class InjectorMeasure(APIView):
    """Measure what is left in an injector."""

    @extend_schema(request=OilMeasureInput, responses=OilHeldOutput)
    def post(self, request: Request, code: str) -> Response:
        """Book what was found beyond the books as a difference."""
        actor, injector = _injector(request, code)
        return _measure(request, actor, injector)


class OilLotWaste(APIView):
    """Take oil of a lot out as waste."""

    @extend_schema(request=OilWasteInput, responses={201: OilMoveOutput})
    def post(self, request: Request, code: str) -> Response:
        """Book it out of the lot."""
        actor, lot = _lot(request, code)
        return _waste(request, actor, lot)


class InjectorWaste(APIView):
    """Take what an injector holds out as waste."""

    @extend_schema(request=OilWasteInput, responses={201: OilMoveOutput})
    def post(self, request: Request, code: str) -> Response:
        """Book it out of the injector, whose film stays."""
        actor, injector = _injector(request, code)
        return _waste(request, actor, injector)


class OilLotVialTest(APIView):
    """Test the insulation of a vial of a lot."""

    @extend_schema(request=VialTestInput, responses={201: VialTestOutput})
    def post(self, request: Request, code: str) -> Response:
        """Record it with its verdict; a sealed lot is open from then on."""
        actor, lot = _lot(request, code)
        values = _values(VialTestInput, request)
        beside = {name: values.pop(name, None) for name in ("occurred_at", "submission_key")}
        note = values.pop("note")
        test = oil_lot_test(
            actor=actor, lot=lot, readings=VialReadings(**values), now=clock.now(), note=note, **beside
        )
        return Response(VialTestOutput(test).data, status=status.HTTP_201_CREATED)


class OilLotLevel(APIView):
    """When oil like this lot is ordered again."""

    @extend_schema(request=OilLevelInput, responses=OilLotOutput)
    def put(self, request: Request, code: str) -> Response:
        """Set the level, or none."""
        actor, lot = _lot(request, code)
        low = _values(OilLevelInput, request)["low"]
        return Response(_lot_output(oil_lot_level_set(actor=actor, lot=lot, low=low, now=clock.now())))


class OilLotBad(APIView):
    """Stop a lot for good, and follow up where its oil went."""

    @extend_schema(request=OilBadInput, responses=OilBadOutput)
    def post(self, request: Request, code: str) -> Response:
        """Mark its injectors unknown and raise an incident for each vehicle; a second time is a conflict."""
        actor, lot = _lot(request, code)
        reason = _values(OilBadInput, request)["note"]
        found = oil_lot_found_bad(actor=actor, lot=lot, reason=reason, now=clock.now())
        incidents = [incident.pk for incident in found.incidents]
        return Response({"lot": _lot_output(found.lot), "incidents": incidents})


def _measure(request: Request, actor: Actor, held: OilLot | Piece) -> Response:
    sent = _values(OilMeasureInput, request)
    booked = oil_measured(
        actor=actor,
        held=held,
        found=cast(Quantity, sent["found"]),
        now=clock.now(),
        note=sent["note"],
        submission_key=sent.get("submission_key"),
    )
    return Response(OilHeldOutput({"store": _store(held), "booked": booked}).data)


def _waste(request: Request, actor: Actor, held: OilLot | Piece) -> Response:
    sent = _values(OilWasteInput, request)
    move: OilMove = oil_waste(
        actor=actor,
        held=held,
        amount=sent.get("amount"),
        reason=sent["note"],
        now=clock.now(),
        submission_key=sent.get("submission_key"),
    )
    return Response(OilMoveOutput(move).data, status=status.HTTP_201_CREATED)


def _store(held: OilLot | Piece) -> OilStore:
    return store_of_lot(held) if isinstance(held, OilLot) else store_of_injector(held)


def _lot_output(lot: OilLot) -> dict[str, Any]:
    return OilLotOutput(lot_now(lot, shop=shop_get(), now=clock.now())).data


def _values(form: type[serializers.Serializer[Any]], request: Request) -> dict[str, Any]:
    sent = form(data=request.data)
    sent.is_valid(raise_exception=True)
    return dict(sent.validated_data)


def _lot(request: Request, code: str) -> tuple[Actor, OilLot]:
    actor = actor_of(request)
    return actor, load(lots_visible_to(actor), actor=actor, policy=may_handle_oil, code=code)


def _injector(request: Request, code: str) -> tuple[Actor, Piece]:
    actor = actor_of(request)
    injectors = pieces_visible_to(actor).filter(kind=PieceKind.INJECTOR)
    return actor, load(injectors, actor=actor, policy=may_handle_oil, code=code)
