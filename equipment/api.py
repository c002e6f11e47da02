"""The REST doors of the equipment: pieces, what they touched, and a clearance decided without connecting."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from django.utils.functional import cached_property
from django.utils.translation import gettext as _
from drf_spectacular.utils import extend_schema
from rest_framework import generics, serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from equipment.errors import UnknownPiece
from equipment.filters import PieceFilter
from equipment.models import Exposure, Piece, PieceDocument, PieceState
from equipment.policies import may_see_equipment
from equipment.readiness import Decision, Identification, VisitFacts
from equipment.selectors import exposures_of, holders, pieces_visible_to
from equipment.services.connecting import clearance_check
from shopcool.core.actors import Actor
from shopcool.core.clock import now
from shopcool.core.loaders import load
from shopcool.people.requests import actor_of
from shopcool.vehicles.selectors import circuits_visible_to


class PieceStateOutput(serializers.ModelSerializer[PieceState]):
    """What is known about a piece now; ``unknown`` true means that nobody knows what it touched."""

    class Meta:
        model = PieceState
        fields = [
            "lubricants",
            "refrigerants",
            "additives",
            "unknown",
            "in_service",
            "out_of_service_reason",
            "last_contact_at",
            "last_purge_at",
        ]
        read_only_fields = fields


class DocumentOutput(serializers.ModelSerializer[PieceDocument]):
    """A certificate or calibration."""

    class Meta:
        model = PieceDocument
        fields = [
            "kind",
            "number",
            "body",
            "standard",
            "edition",
            "refrigerants",
            "lubricants",
            "covers_high_voltage",
            "issued_on",
            "valid_until",
        ]
        read_only_fields = fields


class PieceOutput(serializers.ModelSerializer[Piece]):
    """A piece of wetted equipment with its state; ``on_job`` is the job that has it now."""

    state = PieceStateOutput(read_only=True)
    documents = DocumentOutput(many=True, read_only=True)
    on_job = serializers.SerializerMethodField()
    # Empty where the piece has no such label, which an enumeration can't say.
    refrigerant = serializers.CharField(read_only=True)
    lubricant = serializers.CharField(read_only=True)
    dedicated_to = serializers.CharField(read_only=True)
    hose_allowance = serializers.CharField(read_only=True)
    allows_for = serializers.CharField(source="allows_for.code", default="", read_only=True)

    class Meta:
        model = Piece
        fields = [
            "code",
            "public_id",
            "name",
            "kind",
            "refrigerant",
            "lubricant",
            "lubricant_grade",
            "dedicated_to",
            "can_inject_oil",
            "can_inject_dye",
            "is_marked_for_contaminated",
            "bore_m",
            "length_m",
            "line_count",
            "content_m3",
            "measure_source",
            "scale_tolerance_kg",
            "hose_allowance",
            "allows_for",
            "on_job",
            "state",
            "documents",
        ]
        read_only_fields = fields

    def get_on_job(self, piece: Piece) -> str:
        """Return the number of the job that has the piece, empty when it is free."""
        return self.holders.get(piece.pk, "")

    @cached_property
    def holders(self) -> dict[int, str]:
        """Which job has each piece that is on a vehicle, asked once for a whole list."""
        return holders(Piece.objects.values_list("pk", flat=True))


class ExposureOutput(serializers.ModelSerializer[Exposure]):
    """One entry of a piece's log: when it happened (``occurred_at``) and when it was written."""

    corrects = serializers.IntegerField(
        source="corrects.sequence", default=None, allow_null=True, read_only=True
    )

    class Meta:
        model = Exposure
        fields = [
            "sequence",
            "kind",
            "lubricants",
            "refrigerants",
            "additives",
            "unknown",
            "verified",
            "job_number",
            "occurred_at",
            "recorded_at",
            "recorded_by_name",
            "note",
            "corrects",
            "hash",
        ]
        read_only_fields = fields


def _pieces(request: Request) -> QuerySet[Piece]:
    return pieces_visible_to(actor_of(request)).select_related("allows_for").prefetch_related("documents")


class PieceList(generics.ListAPIView[Piece]):
    """Every piece in use, by code."""

    serializer_class = PieceOutput
    filterset_class = PieceFilter
    queryset = Piece.objects.none()

    def get_queryset(self) -> QuerySet[Piece]:
        """Return what the person behind the request may see."""
        return _pieces(self.request)


class PieceDetail(generics.RetrieveAPIView[Piece]):
    """One piece, by its code."""

    serializer_class = PieceOutput
    lookup_field = "code"
    queryset = Piece.objects.none()

    def get_queryset(self) -> QuerySet[Piece]:
        """Return what the person behind the request may see."""
        return _pieces(self.request)


class PieceExposures(generics.ListAPIView[Exposure]):
    """The life of a piece, in the order in which it happened."""

    serializer_class = ExposureOutput
    filter_backends = ()
    queryset = Exposure.objects.none()

    def get_queryset(self) -> QuerySet[Exposure]:
        """Return the log of the piece in the address."""
        actor = actor_of(self.request)
        piece = load(
            pieces_visible_to(actor), actor=actor, policy=may_see_equipment, code=self.kwargs["code"]
        )
        return exposures_of(piece.pk)


class ReasonOutput(serializers.Serializer[Any]):
    """Why a clearance refuses or warns."""

    code = serializers.CharField()
    severity = serializers.ChoiceField(choices=["REFUSAL", "WARNING"])
    sentence = serializers.CharField()
    fix = serializers.CharField()
    piece_code = serializers.CharField()

    def get_fields(self) -> dict[str, serializers.Field[Any, Any, Any, Any]]:
        """Add the source: as an attribute its name would hide the serializer's own."""
        return {**super().get_fields(), "source": serializers.CharField()}


class DecisionOutput(serializers.Serializer[Decision]):
    """The verdict with every reason, and the version of the rules that gave it."""

    permitted = serializers.BooleanField()
    rules_version = serializers.CharField()
    reasons = ReasonOutput(many=True)


class PiecesInput(serializers.Serializer[Any]):
    """The codes of the pieces that would touch the circuit."""

    pieces = serializers.ListField(
        child=serializers.CharField(max_length=20), allow_empty=False, max_length=20
    )

    def piece_ids(self, actor: Actor) -> list[int]:
        """Return the pieces that were named, or refuse the first unknown code."""
        codes = list(dict.fromkeys(self.validated_data["pieces"]))
        found = dict(pieces_visible_to(actor).filter(code__in=codes).values_list("code", "pk"))
        unknown = [code for code in codes if code not in found]
        if unknown:
            raise UnknownPiece(_("There is no piece %(code)s.") % {"code": unknown[0]}, field="pieces")
        return [found[code] for code in codes]


class CircuitClearanceCheck(APIView):
    """Decide about pieces and a circuit before there is a job; nothing is connected or recorded."""

    @extend_schema(request=PiecesInput, responses=DecisionOutput)
    def post(self, request: Request, pk: int) -> Response:
        """Return the verdict; what only a job can establish, like identification, is missing in it."""
        actor = actor_of(request)
        circuit = load(circuits_visible_to(actor), actor=actor, policy=may_see_equipment, pk=pk)
        wanted = PiecesInput(data=request.data)
        wanted.is_valid(raise_exception=True)
        decision = clearance_check(
            actor=actor,
            circuit=circuit,
            piece_ids=wanted.piece_ids(actor),
            visit=VisitFacts(job_number="", identification=Identification.NOT_DONE),
            now=now(),
        )
        return Response(DecisionOutput(decision).data)
