"""The REST doors for what a hose set holds and how a machine weighs; the pages use the same services."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext as _
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from equipment.api import PieceOutput
from equipment.choices import HoseAllowance, PieceKind
from equipment.errors import UnknownPiece
from equipment.models import Piece
from equipment.policies import may_manage_equipment
from equipment.selectors import pieces_visible_to
from equipment.services.measures import (
    MOST_LINES,
    HoseMeasured,
    MachineWeighs,
    hoses_measure,
    machine_weighing_set,
)
from shopcool.core.fields import QuantitySerializerField
from shopcool.core.loaders import load
from shopcool.engineering.quantities import Kind
from shopcool.people.requests import actor_of


class HosesInput(serializers.Serializer[Any]):
    """What a hose set holds: the content as weighed, or bore and length of one line."""

    content = QuantitySerializerField(kind=Kind.VOLUME, default_unit="ml", required=False)
    bore = QuantitySerializerField(kind=Kind.LENGTH, default_unit="mm", required=False)
    length = QuantitySerializerField(kind=Kind.LENGTH, default_unit="m", required=False)
    line_count = serializers.IntegerField(min_value=1, max_value=MOST_LINES, default=1)

    def get_fields(self) -> dict[str, serializers.Field[Any, Any, Any, Any]]:
        """Add where it comes from: as an attribute its name would hide the serializer's own."""
        source = serializers.CharField(max_length=160, default="", allow_blank=True)
        return {**super().get_fields(), "source": source}


class WeighingInput(serializers.Serializer[Any]):
    """How a machine weighs; ``allows_for`` is the code of the hose set it was set up with."""

    tolerance = QuantitySerializerField(kind=Kind.MASS, default_unit="g", required=False)
    allowance = serializers.ChoiceField(choices=HoseAllowance.choices, default="", allow_blank=True)
    allows_for = serializers.CharField(max_length=20, default="", allow_blank=True)


class PieceHoses(APIView):
    """What a hose set holds."""

    @extend_schema(request=HosesInput, responses=PieceOutput)
    def put(self, request: Request, code: str) -> Response:
        """Enter it anew; a machine that was set up with these hoses has to be set up again."""
        wanted = HosesInput(data=request.data)
        piece = _piece(request, code)
        wanted.is_valid(raise_exception=True)
        measured = HoseMeasured(**wanted.validated_data)
        hoses_measure(actor=actor_of(request), piece=piece, measured=measured)
        return Response(PieceOutput(_piece(request, code)).data)


class PieceWeighing(APIView):
    """How a machine weighs."""

    @extend_schema(request=WeighingInput, responses=PieceOutput)
    def put(self, request: Request, code: str) -> Response:
        """Enter it anew."""
        wanted = WeighingInput(data=request.data)
        piece = _piece(request, code)
        wanted.is_valid(raise_exception=True)
        values = wanted.validated_data
        weighs = MachineWeighs(**{**values, "allows_for": _hoses(request, values["allows_for"])})
        machine_weighing_set(actor=actor_of(request), piece=piece, weighs=weighs)
        return Response(PieceOutput(_piece(request, code)).data)


def _piece(request: Request, code: str) -> Piece:
    actor = actor_of(request)
    pieces = pieces_visible_to(actor).prefetch_related("documents")
    return load(pieces, actor=actor, policy=may_manage_equipment, code=code)


def _hoses(request: Request, code: str) -> Piece | None:
    if not code:
        return None
    found = pieces_visible_to(actor_of(request)).filter(code=code, kind=PieceKind.HOSE_SET).first()
    if found is None:
        raise UnknownPiece(_("There is no hose set %(code)s.") % {"code": code}, field="allows_for")
    return found
