"""The logs that make up the history: which rows each gives, and how a person reads one.

A new log is one entry of SOURCES: its table, the column of its moment, how its rows are narrowed to a piece,
and a function that tells them. New sources go to the end, since a bookmarked place names them by rank.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Q, QuerySet

from equipment.choices import ExposureKind
from equipment.history.attached import attached_to_piece, attachments_on_record, tell_attachments
from equipment.history.entries import HistoryEntry, Scope, Topic
from equipment.history.words import (
    tell_clearances,
    tell_documents,
    tell_exposures,
    tell_incidents,
    tell_maintenance,
    tell_refrigerant,
)
from equipment.incidents import Incident
from equipment.ledger import LedgerEntry
from equipment.maintenance.models import MaintenanceRecord
from equipment.models import Clearance, Exposure, PieceDocument


@dataclass(frozen=True)
class Source:
    """One log. ``person`` and ``job`` name its columns, empty where it has none."""

    topic: Topic
    table: Callable[[], QuerySet[Any]]
    moment: str
    of_piece: Callable[[int], Q]
    tell: Callable[[Sequence[Any]], list[HistoryEntry]]
    person: str = ""
    job: str = ""
    has_verdict: bool = False

    def rows(self, scope: Scope) -> QuerySet[Any]:
        """Return the rows of a scope, in no order."""
        if self._is_left_out_by(scope):
            return self.table().none()
        narrowed = (
            (self.person, scope.person_id),
            (self.job, scope.job_number),
            (f"{self.moment}__gte", scope.since),
            (f"{self.moment}__lt", scope.until),
            ("verdict", scope.verdict),
        )
        found = self.table().filter(**{name: value for name, value in narrowed if value})
        return found if scope.piece_id is None else found.filter(self.of_piece(scope.piece_id))

    def _is_left_out_by(self, scope: Scope) -> bool:
        """Whether the scope wants other topics, or asks for something that this log does not know."""
        unknown = (
            bool(scope.person_id) and not self.person,
            bool(scope.job_number) and not self.job,
            bool(scope.verdict) and not self.has_verdict,
        )
        return any(unknown) or bool(scope.topics and self.topic not in scope.topics)


def _exposures() -> QuerySet[Exposure]:
    return Exposure.objects.select_related("piece", "circuit__vehicle", "purge__machine", "corrects")


def _by_column(name: str) -> Callable[[int], Q]:
    return lambda piece_id: Q(**{name: piece_id})


SOURCES: tuple[Source, ...] = (
    Source(
        topic=Topic.CONTACT,
        table=lambda: _exposures().exclude(kind=ExposureKind.PURGED),
        moment="occurred_at",
        of_piece=_by_column("piece_id"),
        tell=tell_exposures,
        person="recorded_by_id",
        job="job_number",
    ),
    Source(
        topic=Topic.PURGE,
        table=lambda: _exposures().filter(kind=ExposureKind.PURGED),
        moment="occurred_at",
        of_piece=_by_column("piece_id"),
        tell=tell_exposures,
        person="recorded_by_id",
        job="job_number",
    ),
    Source(
        topic=Topic.CLEARANCE,
        table=lambda: Clearance.objects.select_related("circuit__vehicle"),
        moment="occurred_at",
        of_piece=lambda piece_id: Q(piece_ids__contains=[piece_id]),
        tell=tell_clearances,
        person="recorded_by_id",
        job="job_number",
        has_verdict=True,
    ),
    Source(
        topic=Topic.REFRIGERANT,
        table=lambda: LedgerEntry.objects.select_related(
            "source__piece", "target__piece", "source__circuit__vehicle", "target__circuit__vehicle"
        ),
        moment="occurred_at",
        of_piece=lambda piece_id: Q(source__piece_id=piece_id) | Q(target__piece_id=piece_id),
        tell=tell_refrigerant,
        person="recorded_by_id",
        job="job_number",
    ),
    Source(
        topic=Topic.DOCUMENT,
        table=lambda: PieceDocument.objects.select_related("piece"),
        moment="created_at",
        of_piece=_by_column("piece_id"),
        tell=tell_documents,
        person="recorded_by_id",
    ),
    Source(
        topic=Topic.INCIDENT,
        table=lambda: Incident.objects.select_related("circuit__vehicle", "exposure__piece"),
        moment="raised_at",
        of_piece=lambda piece_id: (
            Q(exposure__piece_id=piece_id) | Q(clearance__piece_ids__contains=[piece_id])
        ),
        tell=tell_incidents,
        job="job_number",
    ),
    Source(
        topic=Topic.MAINTENANCE,
        table=lambda: MaintenanceRecord.objects.select_related("piece", "corrects"),
        moment="counts_from",
        of_piece=_by_column("piece_id"),
        tell=tell_maintenance,
        person="recorded_by_id",
    ),
    Source(
        topic=Topic.ATTACHMENT,
        table=attachments_on_record,
        moment="recorded_at",
        of_piece=attached_to_piece,
        tell=tell_attachments,
        person="recorded_by_id",
    ),
)
