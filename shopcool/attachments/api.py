"""The REST doors of attachments: list and attach, read one, its file, and take it back."""

from __future__ import annotations

from typing import Any
from uuid import uuid4

from django.db.models import QuerySet
from django.http.response import HttpResponseBase
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework import generics, serializers, status
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from shopcool.attachments.media import MediaType
from shopcool.attachments.models import LONGEST_CAPTION, LONGEST_REASON, Attachment, Withdrawal
from shopcool.attachments.parents import parent_for
from shopcool.attachments.preparing import Upload
from shopcool.attachments.selectors import attachment_for, attachments_of
from shopcool.attachments.services import attachment_add, attachment_withdraw
from shopcool.attachments.views import file_response
from shopcool.core.clock import now
from shopcool.people.requests import actor_of


class WithdrawalOutput(serializers.ModelSerializer[Withdrawal]):
    """Why and by whom an attachment was taken back."""

    class Meta:
        model = Withdrawal
        fields = ["reason", "recorded_at", "recorded_by_name"]
        read_only_fields = fields


class AttachmentOutput(serializers.ModelSerializer[Attachment]):
    """An attachment: pixels of a picture or pages of a PDF; ``sha256`` is of the file as it is stored."""

    media_type = serializers.ChoiceField(choices=MediaType.choices, read_only=True)
    withdrawal = WithdrawalOutput(source="taken_back", allow_null=True, read_only=True)

    class Meta:
        model = Attachment
        fields = [
            "public_id",
            "parent_kind",
            "parent_key",
            "name",
            "caption",
            "media_type",
            "byte_size",
            "width",
            "height",
            "pages",
            "sha256",
            "source_sha256",
            "recorded_at",
            "recorded_by_name",
            "hash",
            "withdrawal",
        ]
        read_only_fields = fields


class AttachmentInput(serializers.Serializer[Any]):
    """One file; sent twice with one ``submission_key`` it is attached once."""

    file = serializers.FileField(allow_empty_file=True)
    caption = serializers.CharField(max_length=LONGEST_CAPTION, required=False, allow_blank=True, default="")
    submission_key = serializers.UUIDField(required=False)


class WithdrawalInput(serializers.Serializer[Any]):
    """Why an attachment is taken back."""

    reason = serializers.CharField(max_length=LONGEST_REASON)


class AttachmentList(generics.ListAPIView[Attachment]):
    """What is attached to a thing, newest first.

    Kinds and keys: ``piece`` (its public_id), ``work`` and ``document`` of a piece, ``incident``,
    ``competence`` and ``vehicle`` (their numbers), ``oil-lot`` (its code), ``job`` (its number), ``step``.
    """

    serializer_class = AttachmentOutput
    filter_backends = ()
    parser_classes = (MultiPartParser,)
    queryset = Attachment.objects.none()

    def get_queryset(self) -> QuerySet[Attachment]:
        """Return what is attached to the thing in the address."""
        actor = actor_of(self.request)
        return attachments_of(actor, [parent_for(actor, self.kwargs["kind"], self.kwargs["key"])])

    @extend_schema(request={"multipart/form-data": AttachmentInput}, responses={201: AttachmentOutput})
    def post(self, request: Request, kind: str, key: str) -> Response:
        """Attach one file."""
        actor = actor_of(request)
        parent = parent_for(actor, kind, key)
        sent = AttachmentInput(data=request.data)
        sent.is_valid(raise_exception=True)
        values = sent.validated_data
        row = attachment_add(
            actor=actor,
            parent=parent,
            upload=Upload.of(values["file"]),
            caption=values["caption"],
            submission_key=values.get("submission_key") or uuid4(),
            now=now(),
        )
        return Response(AttachmentOutput(row).data, status=status.HTTP_201_CREATED)


class AttachmentDetail(APIView):
    """One attachment, by its public name."""

    @extend_schema(responses=AttachmentOutput)
    def get(self, request: Request, public_id: str) -> Response:
        """Return what is known about it."""
        found, _parent = attachment_for(actor_of(request), public_id)
        return Response(AttachmentOutput(found).data)


class AttachmentWithdrawal(APIView):
    """Take an attachment back; its file stays, and only an owner still sees it."""

    @extend_schema(request=WithdrawalInput, responses={201: WithdrawalOutput})
    def post(self, request: Request, public_id: str) -> Response:
        """Record the withdrawal with its reason."""
        actor = actor_of(request)
        found, _parent = attachment_for(actor, public_id)
        sent = WithdrawalInput(data=request.data)
        sent.is_valid(raise_exception=True)
        row = attachment_withdraw(
            actor=actor, attachment=found, reason=sent.validated_data["reason"], now=now()
        )
        return Response(WithdrawalOutput(row).data, status=status.HTTP_201_CREATED)


class AttachmentContent(APIView):
    """The stored file itself."""

    @extend_schema(responses={(200, media.value): OpenApiTypes.BINARY for media in MediaType})
    def get(self, request: Request, public_id: str) -> HttpResponseBase:
        """Return the bytes that ``sha256`` is of."""
        found, _parent = attachment_for(actor_of(request), public_id)
        return file_response(request, found)
