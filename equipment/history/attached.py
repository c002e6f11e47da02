"""Photos and PDFs in the history: those of pieces, of their papers and of the work on them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.db.models import CharField, Q, QuerySet
from django.db.models.functions import Cast
from django.urls import reverse
from django.utils.translation import gettext as _

from equipment.attachments import DOCUMENT, PIECE, WORK
from equipment.history.entries import HistoryEntry, Topic
from equipment.maintenance.models import MaintenanceRecord
from equipment.models import Piece, PieceDocument
from shopcool.attachments.gallery import size_words
from shopcool.attachments.models import Attachment


def attachments_on_record() -> QuerySet[Attachment]:
    """Return everything that is attached to pieces, their papers and the work on them."""
    return Attachment.objects.filter(parent_kind__in=(PIECE, DOCUMENT, WORK)).select_related("withdrawal")


def attached_to_piece(piece_id: int) -> Q:
    """Return what narrows the attachments to one piece."""
    return (
        Q(parent_kind=PIECE, parent_key__in=Piece.objects.filter(pk=piece_id).values("public_id"))
        | Q(parent_kind=DOCUMENT, parent_key__in=_keys(PieceDocument.objects.filter(piece_id=piece_id)))
        | Q(parent_kind=WORK, parent_key__in=_keys(MaintenanceRecord.objects.filter(piece_id=piece_id)))
    )


def tell_attachments(rows: Sequence[Attachment]) -> list[HistoryEntry]:
    """Return attachments in words, the pieces found with one query for each kind."""
    found = {(PIECE, key): code for key, code in _codes(Piece.objects, rows, PIECE, "public_id", "code")}
    for kind, table in ((DOCUMENT, PieceDocument.objects), (WORK, MaintenanceRecord.objects)):
        found |= {(kind, str(key)): code for key, code in _codes(table, rows, kind, "pk", "piece__code")}
    return [_told(row, found.get((row.parent_kind, row.parent_key), "?")) for row in rows]


def _keys(rows: QuerySet[Any]) -> QuerySet[Any, dict[str, str]]:
    keys: QuerySet[Any, dict[str, str]] = rows.annotate(key=Cast("pk", CharField())).values("key")
    return keys


def _codes(
    table: Any, rows: Sequence[Attachment], kind: str, column: str, code: str
) -> list[tuple[Any, str]]:
    keys = [row.parent_key for row in rows if row.parent_kind == kind]
    return list(table.filter(**{f"{column}__in": keys}).values_list(column, code)) if keys else []


def _told(row: Attachment, code: str) -> HistoryEntry:
    withdrawal = row.taken_back
    if withdrawal is None:
        what, text = str(row), f"{row.name} · {size_words(row)}"
        url = reverse("attachments:attachment", args=[row.public_id])
    else:
        # What it showed is no longer everybody's to read.
        whose = {"who": withdrawal.recorded_by_name, "why": withdrawal.reason}
        what, text, url = _("attachment, withdrawn"), _("Withdrawn by %(who)s: %(why)s") % whose, ""
    return HistoryEntry(
        topic=Topic.ATTACHMENT,
        at=row.recorded_at,
        title=f"{code}: {what}",
        text=text,
        kind="refusal" if withdrawal else "plain",
        who=row.recorded_by_name,
        url=url,
        pieces=(code,),
        recorded_at=row.recorded_at,
        stream=row.stream,
        sequence=row.sequence,
        hash=row.hash,
    )
