"""The REST doors of the jobs: read them, and ask for a clearance without connecting."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiParameter, extend_schema, extend_schema_field
from rest_framework import generics, serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from equipment.api import DecisionOutput, PiecesInput
from jobs.filters import JobFilter
from jobs.models import Job
from jobs.policies import may_see_jobs
from jobs.procedure import StepState
from jobs.selectors import JobPage, RecordRow, job_page, jobs_visible_to
from jobs.services.connecting import job_clearance
from jobs.steps.display import display, retold
from jobs.steps.registry import step_of
from shopcool.core.clock import now
from shopcool.core.loaders import load
from shopcool.people.requests import SYSTEMS, actor_of, asking_actor

UNITS = OpenApiParameter(
    "units", enum=list(SYSTEMS), description="Units of the texts and of bare numbers; else those you prefer."
)


class JobOutput(serializers.ModelSerializer[Job]):
    """A job as a list shows it."""

    registration = serializers.CharField(source="circuit.vehicle.registration", read_only=True)
    vehicle_id = serializers.IntegerField(source="circuit.vehicle_id", read_only=True)
    technician = serializers.CharField(source="technician.full_name", default="", read_only=True)

    class Meta:
        model = Job
        fields = [
            "number",
            "status",
            "service",
            "registration",
            "vehicle_id",
            "circuit_id",
            "complaint",
            "affects_driving",
            "bay",
            "technician",
            "booked_for",
            "checked_in_at",
            "closed_at",
            "next_service_on",
        ]
        read_only_fields = fields


class StepOutput(serializers.Serializer[StepState]):
    """Where one step of the procedure stands, and what blocks it."""

    kind = serializers.CharField()
    status = serializers.CharField()
    why = serializers.CharField()
    reasons = serializers.SerializerMethodField()

    def get_fields(self) -> dict[str, serializers.Field[Any, Any, Any, Any]]:
        """Add whether the step is required: as an attribute its name would hide the serializer's own."""
        return {**super().get_fields(), "required": serializers.BooleanField()}

    def get_reasons(self, state: StepState) -> list[dict[str, str]]:
        """Return every blocker as code, sentence and fix."""
        return [{"code": item.code, "sentence": item.sentence, "fix": item.fix} for item in state.reasons]


class RecordOutput(serializers.Serializer[RecordRow]):
    """One step record: values in SI with what was typed, and what the rules said.

    ``told`` has values and derived values in words and ``findings`` its remarks, both in the units that the
    request asks for; ``stands`` is false when a newer record corrects it. Its context has ``units``.
    """

    kind = serializers.CharField()
    stands = serializers.BooleanField()
    values = serializers.JSONField(source="record.values")
    answer = serializers.JSONField(source="record.answer")
    told = serializers.SerializerMethodField()
    findings = serializers.SerializerMethodField()
    note = serializers.CharField(source="record.note")
    occurred_at = serializers.DateTimeField(source="record.occurred_at")
    recorded_at = serializers.DateTimeField(source="record.recorded_at")
    recorded_by = serializers.CharField(source="record.recorded_by_name")
    correction_reason = serializers.CharField(source="record.correction_reason")
    hash = serializers.CharField(source="record.hash")

    @extend_schema_field(serializers.DictField(child=serializers.CharField()))
    def get_told(self, row: RecordRow) -> dict[str, str]:
        """Return field or derived value by name, as a person reads it."""
        units = self.context["units"]
        outputs = {output.name: output.text for output in retold(row.answer, units).outputs}
        fields = {spec.name: display(spec, row.values, units) for spec in step_of(row.kind).fields}
        return outputs | {name: text for name, text in fields.items() if text}

    @extend_schema_field(serializers.ListField(child=serializers.CharField()))
    def get_findings(self, row: RecordRow) -> list[str]:
        """Return the sentence of every finding."""
        return [finding.sentence for finding in retold(row.answer, self.context["units"]).findings]


class ConnectionOutput(serializers.Serializer[Any]):
    """A piece on the vehicle, from a time to a time."""

    piece = serializers.CharField(source="piece.code")
    connected_at = serializers.DateTimeField()
    disconnected_at = serializers.DateTimeField(allow_null=True)


class ClearanceOutput(serializers.Serializer[Any]):
    """One recorded decision of the job."""

    verdict = serializers.CharField()
    reasons = serializers.JSONField()
    override_reason = serializers.CharField()
    rules_version = serializers.CharField()
    occurred_at = serializers.DateTimeField()
    recorded_by_name = serializers.CharField()


class JobPageOutput(serializers.Serializer[JobPage]):
    """A whole job: where it stands, what was recorded, what was on the vehicle."""

    job = JobOutput()
    steps = StepOutput(source="states", many=True)
    records = serializers.SerializerMethodField()
    connections = ConnectionOutput(many=True)
    clearances = ClearanceOutput(many=True)
    purges_due = serializers.SerializerMethodField()

    @extend_schema(responses=RecordOutput(many=True))
    def get_records(self, page: JobPage) -> list[dict[str, Any]]:
        """Return every record in the order of writing."""
        rows = sorted(
            (row for rows in page.records.values() for row in rows), key=lambda row: row.record.sequence
        )
        return [dict(RecordOutput(row, context={"units": page.context.units}).data) for row in rows]

    def get_purges_due(self, page: JobPage) -> list[str]:
        """Return the codes of the pieces that still need a closing purge."""
        return [piece.code for piece in page.purges_due]


class JobList(generics.ListAPIView[Job]):
    """The jobs, newest booking first."""

    serializer_class = JobOutput
    filterset_class = JobFilter
    queryset = Job.objects.none()

    def get_queryset(self) -> QuerySet[Job]:
        """Return what the person behind the request may see."""
        return jobs_visible_to(actor_of(self.request))


class JobDetail(APIView):
    """One job, by its number."""

    @extend_schema(parameters=[UNITS], responses=JobPageOutput)
    def get(self, request: Request, number: str) -> Response:
        """Return the whole job."""
        actor = asking_actor(request)
        page = job_page(job=_job(request, number), now=now(), units=actor.units)
        return Response(JobPageOutput(page).data)


class JobClearanceCheck(APIView):
    """Decide whether pieces may go on the vehicle of a job; nothing is connected or recorded."""

    @extend_schema(request=PiecesInput, responses=DecisionOutput)
    def post(self, request: Request, number: str) -> Response:
        """Return the verdict with every reason."""
        actor, job = actor_of(request), _job(request, number)
        wanted = PiecesInput(data=request.data)
        wanted.is_valid(raise_exception=True)
        decision = job_clearance(actor=actor, job=job, piece_ids=wanted.piece_ids(actor), now=now())
        return Response(DecisionOutput(decision).data)


def _job(request: Request, number: str) -> Job:
    actor = actor_of(request)
    return load(jobs_visible_to(actor), actor=actor, policy=may_see_jobs, number=number)
