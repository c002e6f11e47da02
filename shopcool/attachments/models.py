"""Attachments and their withdrawals: records that only grow."""

from __future__ import annotations

import secrets
from typing import ClassVar

from django.core.exceptions import ObjectDoesNotExist
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from shopcool.attachments.media import MediaType
from shopcool.attachments.parents import LONGEST_KEY, LONGEST_KIND
from shopcool.core.records import ChainedRecord

LONGEST_NAME = 120
LONGEST_CAPTION = 200
LONGEST_REASON = 300


def new_public_id() -> str:
    """Return a random name that nobody guesses, the same for the address and the stored file."""
    return secrets.token_hex(16)


class Attachment(ChainedRecord):
    """A photo or PDF that belongs to a thing of the workshop.

    ``sha256`` is of the file as it is stored, ``source_sha256`` as it was sent: a photo is redrawn without
    what its camera wrote into it. ``width`` and ``height`` are pixels as the photo is looked at, ``pages``
    is the length of a PDF.
    """

    public_id = models.CharField(max_length=32, unique=True, default=new_public_id)
    parent_kind = models.CharField(max_length=LONGEST_KIND)
    parent_key = models.CharField(max_length=LONGEST_KEY)
    name = models.CharField(_("name"), max_length=LONGEST_NAME)
    caption = models.CharField(_("what it shows"), max_length=LONGEST_CAPTION, blank=True)
    media_type = models.CharField(max_length=20, choices=MediaType.choices)
    byte_size = models.PositiveIntegerField()
    width = models.PositiveIntegerField(null=True)
    height = models.PositiveIntegerField(null=True)
    pages = models.PositiveIntegerField(null=True)
    sha256 = models.CharField(max_length=64)
    thumbnail_sha256 = models.CharField(max_length=64)
    source_sha256 = models.CharField(max_length=64)
    submission_key = models.UUIDField()

    class Meta(ChainedRecord.Meta):
        constraints: ClassVar[list[models.BaseConstraint]] = [
            *ChainedRecord.Meta.constraints,
            models.UniqueConstraint(
                fields=["submission_key", "source_sha256"], name="attachments_once_per_submission"
            ),
            models.CheckConstraint(
                name="attachments_picture_or_document",
                condition=Q(media_type=MediaType.PDF, pages__gt=0, width__isnull=True, height__isnull=True)
                | (~Q(media_type=MediaType.PDF) & Q(pages__isnull=True, width__gt=0, height__gt=0)),
            ),
        ]
        indexes = [
            # What belongs to one thing, newest first.
            models.Index(fields=["parent_kind", "parent_key", "-recorded_at"], name="attachments_of_parent"),
            # The history of all things of a kind.
            models.Index(fields=["parent_kind", "recorded_at", "id"], name="attachments_log"),
        ]

    def __str__(self) -> str:
        return self.caption or self.name

    @property
    def type(self) -> MediaType:
        """What the stored file is."""
        return MediaType(self.media_type)

    @property
    def taken_back(self) -> Withdrawal | None:
        """The withdrawal, None while the attachment stands; load it with ``select_related``."""
        try:
            return self.withdrawal
        except ObjectDoesNotExist:
            return None


class Withdrawal(ChainedRecord):
    """Somebody took an attachment back, with a reason; the file stays where it is."""

    attachment = models.OneToOneField(Attachment, on_delete=models.PROTECT, related_name="withdrawal")
    reason = models.CharField(_("why"), max_length=LONGEST_REASON)

    class Meta(ChainedRecord.Meta):
        constraints: ClassVar[list[models.BaseConstraint]] = [
            *ChainedRecord.Meta.constraints,
            models.CheckConstraint(name="attachments_withdrawal_has_reason", condition=~Q(reason="")),
        ]

    def __str__(self) -> str:
        return f"withdrawal of {self.attachment_id}"
