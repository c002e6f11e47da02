"""The REST door of the oil in a circuit over its visits."""

from __future__ import annotations

from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from jobs.oil_history import CircuitOil, OilEvent, oil_of_circuits
from jobs.policies import may_see_jobs
from jobs.steps.oil_total import assumptions
from shopcool.core.loaders import load
from shopcool.people.requests import actor_of
from shopcool.vehicles.selectors import circuits_visible_to


class OilEventOutput(serializers.Serializer[OilEvent]):
    """One record that changed the oil [m³]; null means that nobody measured it, which is never 0."""

    at = serializers.DateTimeField()
    job = serializers.CharField(source="record.job.number")
    kind = serializers.CharField()
    change_m3 = serializers.FloatField(allow_null=True)
    left_m3 = serializers.FloatField(allow_null=True)


class CircuitOilOutput(serializers.Serializer[CircuitOil]):
    """The oil inside by estimate [m³], null while unknown, with what it assumes and leaves out."""

    label_m3 = serializers.FloatField(source="total.label_m3", allow_null=True)
    estimate_m3 = serializers.FloatField(source="total.estimate_m3", allow_null=True)
    removed_m3 = serializers.FloatField(source="total.removed_m3")
    added_m3 = serializers.FloatField(source="total.added_m3")
    unknown = serializers.ListField(source="total.unknown", child=serializers.CharField())
    assumptions = serializers.SerializerMethodField()
    events = OilEventOutput(many=True)

    @extend_schema_field(serializers.ListField(child=serializers.CharField()))
    def get_assumptions(self, oil: CircuitOil) -> list[str]:
        """Return what the estimate takes for granted."""
        return list(assumptions())


class CircuitOilDetail(APIView):
    """The oil in one circuit."""

    @extend_schema(responses=CircuitOilOutput)
    def get(self, request: Request, pk: int) -> Response:
        """Return the estimate with everything that it counts, oldest event first."""
        actor = actor_of(request)
        circuit = load(circuits_visible_to(actor), actor=actor, policy=may_see_jobs, pk=pk)
        return Response(CircuitOilOutput(oil_of_circuits([circuit])[circuit.pk]).data)
