"""The REST doors of the tables of trouble codes."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework import generics, serializers, status
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from shopcool.core.clock import now
from shopcool.core.loaders import load
from shopcool.people.requests import actor_of
from shopcool.vehicles.choices import CodeArea
from shopcool.vehicles.codes import CodeFilter, codes_visible_to
from shopcool.vehicles.models import CodeMeaning
from shopcool.vehicles.policies import may_keep_codes, may_see_vehicles
from shopcool.vehicles.services.codes import CodeData, code_change, code_enter, code_remove


class CodeOutput(serializers.ModelSerializer[CodeMeaning]):
    """One line of a vehicle maker's table; ``detail`` is empty for the code alone."""

    class Meta:
        model = CodeMeaning
        fields = ["id", "make", "model", "code", "detail", "meaning", "area", "source", "entered_at"]
        read_only_fields = fields

    def get_fields(self) -> dict[str, serializers.Field[Any, Any, Any, Any]]:
        """Add where the table stands: as an attribute its name would hide the serializer's own."""
        return {**super().get_fields(), "source": serializers.CharField(read_only=True)}


class CodeInput(serializers.Serializer[Any]):
    """One line as it is entered."""

    make = serializers.CharField(max_length=60)
    model = serializers.CharField(max_length=60)
    code = serializers.CharField(max_length=5)
    detail = serializers.CharField(max_length=3, allow_blank=True, default="")
    meaning = serializers.CharField(max_length=300)
    area = serializers.ChoiceField(choices=CodeArea.choices)

    def get_fields(self) -> dict[str, serializers.Field[Any, Any, Any, Any]]:
        """Add where the table stands: as an attribute its name would hide the serializer's own."""
        return {**super().get_fields(), "source": serializers.CharField(max_length=200)}


class CodeList(generics.ListAPIView[CodeMeaning]):
    """The lines, by model and code; ``q`` searches make, model, code and meaning."""

    serializer_class = CodeOutput
    filterset_class = CodeFilter
    queryset = CodeMeaning.objects.none()

    def get_queryset(self) -> QuerySet[CodeMeaning]:
        """Return what the person behind the request may see."""
        return codes_visible_to(actor_of(self.request))

    @extend_schema(request=CodeInput, responses={201: CodeOutput})
    def post(self, request: Request) -> Response:
        """Enter a line; the same line sent twice is one."""
        line = code_enter(actor=actor_of(request), data=_sent(request), now=now())
        return Response(CodeOutput(line).data, status=status.HTTP_201_CREATED)


class CodeDetail(APIView):
    """One line."""

    @extend_schema(responses=CodeOutput)
    def get(self, request: Request, pk: int) -> Response:
        """Return the line."""
        actor = actor_of(request)
        line = load(codes_visible_to(actor), actor=actor, policy=may_see_vehicles, pk=pk)
        return Response(CodeOutput(line).data)

    @extend_schema(request=CodeInput, responses=CodeOutput)
    def put(self, request: Request, pk: int) -> Response:
        """Change the line."""
        actor = actor_of(request)
        line = load(codes_visible_to(actor), actor=actor, policy=may_keep_codes, pk=pk)
        changed = code_change(actor=actor, meaning=line, data=_sent(request), now=now())
        return Response(CodeOutput(changed).data)

    @extend_schema(responses={204: None})
    def delete(self, request: Request, pk: int) -> Response:
        """Take the line out."""
        actor = actor_of(request)
        line = load(codes_visible_to(actor), actor=actor, policy=may_keep_codes, pk=pk)
        code_remove(actor=actor, meaning=line)
        return Response(status=status.HTTP_204_NO_CONTENT)


def _sent(request: Request) -> CodeData:
    sent = CodeInput(data=request.data)
    sent.is_valid(raise_exception=True)
    return CodeData(**{**sent.validated_data, "area": CodeArea(sent.validated_data["area"])})
