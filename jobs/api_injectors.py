"""The REST door of the injectors beside a job: which may put oil into its circuit, and why not."""

from __future__ import annotations

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from jobs.injectors import InjectorOffer, Standing, injectors_for
from jobs.policies import may_see_jobs
from jobs.selectors import jobs_visible_to
from jobs.situation import situation_of
from shopcool.core.clock import now
from shopcool.core.loaders import load
from shopcool.people.requests import asking_actor


class InjectorOfferOutput(serializers.Serializer[InjectorOffer]):
    """One injector, the one to take first; ``holds_m3`` by the books [m³], ``why_not`` empty if it fits."""

    id = serializers.IntegerField(source="facts.id")
    code = serializers.CharField(source="facts.code")
    refrigerant = serializers.CharField(source="facts.refrigerant")
    lubricant = serializers.CharField(source="facts.lubricant")
    lubricant_grade = serializers.CharField(source="facts.lubricant_grade")
    standing = serializers.ChoiceField(
        choices=[(one.name, one.name) for one in Standing], source="standing.name"
    )
    holds_m3 = serializers.FloatField()
    is_on_car = serializers.BooleanField()
    why_not = serializers.ListField(child=serializers.CharField())


class JobInjectors(APIView):
    """The injectors of the workshop for the oil step of a job."""

    @extend_schema(responses=InjectorOfferOutput(many=True))
    def get(self, request: Request, number: str) -> Response:
        """Return every injector in use, the one to take first."""
        actor = asking_actor(request)
        job = load(jobs_visible_to(actor), actor=actor, policy=may_see_jobs, number=number)
        situation = situation_of(job, now=now(), units=actor.units)
        offers = injectors_for(actor=actor, situation=situation)
        return Response([InjectorOfferOutput(offer).data for offer in offers])
