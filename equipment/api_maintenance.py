"""The REST doors of maintenance: what a piece needs, and the work that was done on it.

Checks that are judged (a scale against a reference mass, air in a tank or cylinder) come back with their
verdict; one that failed makes the piece not ready at once.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any
from uuid import uuid4

from django.db.models import QuerySet
from django.utils.translation import gettext as _
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import generics, serializers, status
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from equipment.choices import PieceKind
from equipment.errors import UnknownPiece
from equipment.maintenance.choices import WhenOverdue, Work, WorkOutcome
from equipment.maintenance.facts import source_words
from equipment.maintenance.judging import findings_told
from equipment.maintenance.models import MaintenancePlan, MaintenanceRecord
from equipment.maintenance.policies import may_record_maintenance
from equipment.maintenance.readings import NAMES, readings_asked
from equipment.maintenance.work import WorkDone, work_record
from equipment.models import Piece
from equipment.pages.maintenance import open_plans, records_of
from equipment.policies import may_see_equipment
from equipment.selectors import pieces_visible_to, today_at
from shopcool.core import clock
from shopcool.core.actors import Actor
from shopcool.core.fields import QuantitySerializerField
from shopcool.core.loaders import Policy, load
from shopcool.engineering.quantities import Kind
from shopcool.people.requests import actor_of
from shopcool.shop.selectors import atmosphere_pa, shop_get
from shopcool.shop.units import Units, units_for

#: In what a bare number of a reading is; pressures are gauge pressures.
BARE = {Kind.MASS: "kg", Kind.PRESSURE: "bar", Kind.TEMPERATURE: "°C", Kind.RESISTANCE: "MΩ"}


def _reading(kind: Kind) -> QuantitySerializerField:
    return QuantitySerializerField(kind=kind, default_unit=BARE[kind], required=False, allow_null=True)


class PlanOutput(serializers.ModelSerializer[MaintenancePlan]):
    """Work that a piece needs; overdue or failed it is refused, or warned of, as ``when_overdue`` says."""

    when_overdue = serializers.ChoiceField(choices=WhenOverdue.choices)
    work = serializers.ChoiceField(choices=Work.choices)
    what = serializers.CharField(source="__str__")
    says = serializers.SerializerMethodField()
    is_reached = serializers.BooleanField(read_only=True)

    class Meta:
        model = MaintenancePlan
        fields = [
            "id",
            "work",
            "what",
            "says",
            "when_overdue",
            "due_on",
            "is_reached",
            "last_done_on",
            "failed_on",
        ]
        read_only_fields = fields

    def get_says(self, plan: MaintenancePlan) -> str:
        """Return who says how often, and where."""
        return source_words(plan)


class WorkOutput(serializers.ModelSerializer[MaintenanceRecord]):
    """Work on record, with what was read and what it means in the units that the person prefers."""

    outcome = serializers.ChoiceField(choices=WorkOutcome.choices)
    work = serializers.ChoiceField(choices=Work.choices)
    findings = serializers.SerializerMethodField()
    readings = serializers.DictField()
    corrected = serializers.SerializerMethodField()

    class Meta:
        model = MaintenanceRecord
        fields = [
            "sequence",
            "work",
            "title",
            "done_on",
            "done_by",
            "outcome",
            "findings",
            "readings",
            "parts",
            "note",
            "corrected",
            "recorded_at",
            "hash",
        ]
        read_only_fields = fields

    @extend_schema_field(serializers.ListField(child=serializers.CharField()))
    def get_findings(self, record: MaintenanceRecord) -> list[str]:
        """Return what was found, in sentences."""
        return findings_told(record.findings, self.context["units"])

    def get_corrected(self, record: MaintenanceRecord) -> bool:
        """Return whether a newer record corrects it."""
        return getattr(record, "corrected_by", None) is not None


class WorkInput(serializers.Serializer[Any]):
    """Work that was done by a plan; sent twice with one ``submission_key`` it is recorded once.

    A scale check asks for ``reference`` and ``before`` and perhaps ``after`` (an adjustment), the air in a
    tank for ``pressure`` and ``temperature``; their ``outcome`` follows. Every other work asks for it. A
    bare number is in kg, bar gauge, °C or MΩ. Without ``done_on`` it was today.
    """

    done_on = serializers.DateField(required=False, allow_null=True)
    outcome = serializers.ChoiceField(choices=WorkOutcome.choices, required=False, allow_null=True)
    reference = _reading(Kind.MASS)
    before = _reading(Kind.MASS)
    after = _reading(Kind.MASS)
    pressure = _reading(Kind.PRESSURE)
    temperature = _reading(Kind.TEMPERATURE)
    reference_piece = serializers.CharField(max_length=20, default="", allow_blank=True)
    meter = QuantitySerializerField(
        kind=Kind.DURATION, default_unit="h", minimum=0.0, maximum=3.6e9, required=False, allow_null=True
    )
    parts = serializers.CharField(max_length=300, default="", allow_blank=True)
    note = serializers.CharField(max_length=500, default="", allow_blank=True)
    done_by = serializers.CharField(max_length=150, default="", allow_blank=True)
    submission_key = serializers.UUIDField(required=False, allow_null=True)

    def get_fields(self) -> dict[str, serializers.Field[Any, Any, Any, Any]]:
        """Ask for what the work of the plan is read in, with the air pressure at the workshop."""
        fields = super().get_fields()
        if "work" not in self.context:
            return fields
        asked, air = readings_asked(self.context["work"]), atmosphere_pa(shop_get())
        for name in NAMES:
            del fields[name]
        for name, kind in asked.items():
            field = _reading(kind)
            field.rule = replace(field.rule, atmosphere_pa=air)
            fields[name] = field
        return fields

    def done(self, actor: Actor) -> WorkDone:
        """Return what was sent, for the service."""
        values = self.validated_data
        meter, outcome = values.get("meter"), values.get("outcome")
        return WorkDone(
            done_on=values.get("done_on") or today_at(shop_get(), clock.now()),
            outcome=WorkOutcome(outcome) if outcome else None,
            done_by=values["done_by"],
            readings={name: values[name] for name in NAMES if values.get(name) is not None},
            reference=_reference(actor, values["reference_piece"]),
            parts=values["parts"],
            note=values["note"],
            meter_hours=meter.si / 3600.0 if meter else None,
        )


class PiecePlans(generics.ListAPIView[MaintenancePlan]):
    """What a piece needs, the next first."""

    serializer_class = PlanOutput
    filter_backends = ()
    queryset = MaintenancePlan.objects.none()

    def get_queryset(self) -> QuerySet[MaintenancePlan]:
        """Return the open plans of the piece in the address."""
        return open_plans(_piece(self.request, self.kwargs["code"], may_see_equipment)[1])


class PieceWork(generics.ListAPIView[MaintenanceRecord]):
    """The work on record for a piece, the newest first."""

    serializer_class = WorkOutput
    filter_backends = ()
    queryset = MaintenanceRecord.objects.none()

    def get_queryset(self) -> QuerySet[MaintenanceRecord]:
        """Return the records of the piece in the address, corrected ones included."""
        return records_of(_piece(self.request, self.kwargs["code"], may_see_equipment)[1])

    def get_serializer_context(self) -> dict[str, Any]:
        """Add the units of the reader."""
        return {**super().get_serializer_context(), "units": _units(actor_of(self.request))}


class PlanWork(APIView):
    """Work that was done by a plan."""

    @extend_schema(request=WorkInput, responses={201: WorkOutput})
    def post(self, request: Request, code: str, pk: int) -> Response:
        """Record it with its verdict."""
        actor, piece = _piece(request, code, may_record_maintenance)
        plan = load(open_plans(piece), actor=actor, policy=may_record_maintenance, pk=pk)
        sent = WorkInput(data=request.data, context={"work": Work(plan.work)})
        sent.is_valid(raise_exception=True)
        record = work_record(
            actor=actor,
            plan=plan,
            work=sent.done(actor),
            submission_key=sent.validated_data.get("submission_key") or uuid4(),
            now=clock.now(),
        )
        context = {"units": _units(actor)}
        return Response(WorkOutput(record, context=context).data, status=status.HTTP_201_CREATED)


def _piece(request: Request, code: str, policy: Policy) -> tuple[Actor, Piece]:
    actor = actor_of(request)
    return actor, load(pieces_visible_to(actor), actor=actor, policy=policy, code=code)


def _units(actor: Actor) -> Units:
    return units_for(shop_get(), actor.units)


def _reference(actor: Actor, code: str) -> Piece | None:
    if not code:
        return None
    found = pieces_visible_to(actor).filter(code=code, kind=PieceKind.REFERENCE_MASS).first()
    if found is None:
        raise UnknownPiece(
            _("There is no reference mass %(code)s.") % {"code": code}, field="reference_piece"
        )
    return found
