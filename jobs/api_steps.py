"""The REST doors of the steps: what a step asks, what the rules say about values, and its record."""

from __future__ import annotations

from typing import Any

from django.http import Http404
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from jobs.api import UNITS, RecordOutput, StepOutput
from jobs.choices import StepKind
from jobs.models import Job
from jobs.policies import may_record_step, may_see_jobs
from jobs.selectors import jobs_visible_to, record_rows
from jobs.services.steps import step_record, step_try
from jobs.situation import Situation, situation_of
from jobs.steps.context import StepContext, field_options
from jobs.steps.fields import FieldSpec
from jobs.steps.registry import step_of
from shopcool.core.actors import Actor
from shopcool.core.clock import now
from shopcool.core.loaders import Policy, load
from shopcool.people.requests import asking_actor


class FieldOutput(serializers.Serializer[dict[str, Any]]):
    """One field of a step; ``unit`` is that of a bare number, ``asked_if`` the answers that ask for it."""

    name = serializers.CharField()
    kind = serializers.CharField()
    unit = serializers.CharField()
    choices = serializers.DictField(child=serializers.CharField())
    asked_if = serializers.DictField(child=serializers.ListField(child=serializers.CharField()))

    def get_fields(self) -> dict[str, serializers.Field[Any, Any, Any, Any]]:
        """Add what would hide the serializer's own attributes."""
        return {
            **super().get_fields(),
            "label": serializers.CharField(),
            "required": serializers.BooleanField(),
            "help": serializers.CharField(),
        }


class StepFormOutput(serializers.Serializer[dict[str, Any]]):
    """What a step asks, where it stands, and ``seen``: how many records of it there are."""

    state = StepOutput()
    seen = serializers.IntegerField()
    asks = FieldOutput(many=True)


class StepInput(serializers.Serializer[dict[str, Any]]):
    """What was typed, by field name; a quantity may come with ``<name>_unit``, ``_basis`` and ``_source``."""

    values = serializers.DictField(child=serializers.JSONField(allow_null=True))


class StepRecordInput(StepInput):
    """A step to be recorded. The same key sent twice gives the first record."""

    seen = serializers.IntegerField(min_value=0, max_value=1_000_000)
    idempotency_key = serializers.UUIDField()
    note = serializers.CharField(max_length=1000, allow_blank=True, default="")
    occurred_at = serializers.DateTimeField(allow_null=True, default=None)


class FindingOutput(serializers.Serializer[Any]):
    """One remark: stable code, how it is meant, sentence, the limit it compares with, its source."""

    code = serializers.CharField()
    tone = serializers.CharField()
    sentence = serializers.CharField()
    limit = serializers.CharField()

    def get_fields(self) -> dict[str, serializers.Field[Any, Any, Any, Any]]:
        """Add where the limit comes from: as an attribute its name would hide the serializer's own."""
        return {**super().get_fields(), "source": serializers.CharField()}


class DerivedOutput(serializers.Serializer[Any]):
    """A derived value; ``si`` null means not known, which is never 0."""

    name = serializers.CharField()
    si = serializers.FloatField(allow_null=True)
    text = serializers.CharField()

    def get_fields(self) -> dict[str, serializers.Field[Any, Any, Any, Any]]:
        """Add the label: as an attribute its name would hide the serializer's own."""
        return {**super().get_fields(), "label": serializers.CharField()}


class AnswerOutput(serializers.Serializer[Any]):
    """What the rules say about values; nothing is recorded."""

    outcome = serializers.CharField()
    satisfied = serializers.BooleanField()
    findings = FindingOutput(many=True)
    outputs = DerivedOutput(many=True)


class JobStep(APIView):
    """One step of a job: what it asks, and the door that records it."""

    @extend_schema(parameters=[UNITS], responses=StepFormOutput)
    def get(self, request: Request, number: str, kind: str) -> Response:
        """Return the fields of the step and where it stands."""
        actor, job, step = _asked(request, number, kind, may_see_jobs)
        situation = situation_of(job, now=now(), units=actor.units)
        return Response(StepFormOutput(_form(situation, step)).data)

    @extend_schema(parameters=[UNITS], request=StepRecordInput, responses={201: RecordOutput})
    def post(self, request: Request, number: str, kind: str) -> Response:
        """Record the step."""
        actor, job, step = _asked(request, number, kind, may_record_step)
        sent = StepRecordInput(data=request.data)
        sent.is_valid(raise_exception=True)
        typed = dict(sent.validated_data)
        record = step_record(actor=actor, job=job, kind=step, raw=typed.pop("values"), now=now(), **typed)
        situation = situation_of(job, now=now(), units=actor.units)
        row = next(row for row in record_rows(situation) if row.record.pk == record.pk)
        output = RecordOutput(row, context={"units": situation.context.units})
        return Response(output.data, status=201)


class JobStepAnswer(APIView):
    """What the rules would say about values."""

    @extend_schema(parameters=[UNITS], request=StepInput, responses=AnswerOutput)
    def post(self, request: Request, number: str, kind: str) -> Response:
        """Return the answer, recording nothing."""
        actor, job, step = _asked(request, number, kind, may_record_step)
        sent = StepInput(data=request.data)
        sent.is_valid(raise_exception=True)
        answer = step_try(actor=actor, job=job, kind=step, raw=sent.validated_data["values"], now=now())
        return Response(AnswerOutput(answer.as_record()).data)


def _asked(request: Request, number: str, kind: str, policy: Policy) -> tuple[Actor, Job, StepKind]:
    actor = asking_actor(request)
    if kind not in StepKind.values:
        raise Http404
    job = load(jobs_visible_to(actor), actor=actor, policy=policy, number=number)
    return actor, job, StepKind(kind)


def _form(situation: Situation, kind: StepKind) -> dict[str, Any]:
    asks = [_field(spec, situation.context) for spec in step_of(kind).fields_at_hand(situation.context)]
    return {"state": situation.state(kind), "seen": situation.seen(kind), "asks": asks}


def _field(spec: FieldSpec, context: StepContext) -> dict[str, Any]:
    return {
        "name": spec.name,
        "label": spec.label,
        "kind": spec.kind.value,
        "required": spec.required,
        "help": spec.help,
        "unit": context.unit_of(spec),
        "choices": dict(field_options(spec, context)),
        "asked_if": {spec.shown_if.field: list(spec.shown_if.values)} if spec.shown_if else {},
    }
