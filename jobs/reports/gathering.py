"""Everything the record of a job tells, read with the same few queries however long the job was."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from functools import reduce
from itertools import islice
from operator import or_

from django.db.models import Q

from equipment.choices import ExposureKind
from equipment.incidents import Incident
from equipment.models import Clearance, Connection, Exposure, Piece, Purge
from equipment.selectors import clearances_on_job, connections_on_job
from jobs.attachments import job_parent, step_parent
from jobs.choices import StepKind
from jobs.models import Job
from jobs.selectors import RecordRow, record_rows
from jobs.situation import Situation, situation_of
from shopcool.attachments.models import Attachment
from shopcool.attachments.selectors import attachments_of
from shopcool.attachments.storage import thumbnail_path
from shopcool.core.actors import SYSTEM, PreferredUnits
from shopcool.people.models import Competence
from shopcool.shop.models import Shop
from shopcool.shop.selectors import shop_get
from shopcool.shop.units import AS_THE_WORKSHOP, Units

#: More pictures would make a record that nobody sends; its table names every one.
MOST_PHOTOS = 12


@dataclass(frozen=True)
class Gathered:
    """A job with all of its records, as of ``now``, to be told in ``units``.

    ``thumbnails`` are small JPEGs of attached pictures by their public names. ``purged_before`` is the last
    verified line purge of each piece before it came onto this vehicle, and ``refuted`` are the purges whose
    entry was withdrawn later.
    """

    now: datetime
    shop: Shop
    units: Units
    job: Job
    situation: Situation
    records: tuple[RecordRow, ...]
    clearances: tuple[Clearance, ...]
    connections: tuple[Connection, ...]
    purges: tuple[Purge, ...]
    refuted: frozenset[int]
    purged_before: Mapping[int, Exposure]
    pieces: Mapping[int, Piece]
    incidents: tuple[Incident, ...]
    attachments: tuple[Attachment, ...]
    thumbnails: Mapping[str, bytes]
    competences: Mapping[int, tuple[Competence, ...]]

    def standing(self, kind: StepKind) -> list[RecordRow]:
        """Return the records of a step that no later one corrects, in the order of the work."""
        return [row for row in self.records if row.kind is kind and row.stands]

    def piece_names(self, piece_ids: Iterable[int]) -> str:
        """Return pieces in words, in the given order."""
        return ", ".join(str(self.pieces[piece_id]) for piece_id in piece_ids)


def gather(*, job_id: int, now: datetime, units: PreferredUnits = AS_THE_WORKSHOP) -> Gathered:
    """Return everything about a job, for a reader with some units of their own.

    Its chains are as long as the records that are returned.
    """
    job = Job.objects.select_related("circuit__vehicle__customer", "technician", "booked_by").get(pk=job_id)
    situation = situation_of(job, now=now, units=units)
    clearances = tuple(clearances_on_job(job.number))
    connections = tuple(connections_on_job(job.number))
    purges = tuple(Purge.objects.filter(job_number=job.number).order_by("occurred_at", "pk"))
    attachments = _attachments(job, situation)
    people = _people(job, situation, clearances, connections, purges)
    return Gathered(
        now=now,
        shop=shop_get(),
        units=situation.context.units,
        job=job,
        situation=situation,
        records=record_rows(situation),
        clearances=clearances,
        connections=connections,
        purges=purges,
        refuted=_refuted(purges),
        purged_before=_purged_before(connections),
        pieces=Piece.objects.in_bulk({piece_id for purge in purges for piece_id in purge.piece_ids}),
        incidents=tuple(
            Incident.objects.filter(job_number=job.number)
            .select_related("closed_by")
            .order_by("raised_at", "pk")
        ),
        attachments=attachments,
        thumbnails=_thumbnails(attachments),
        competences=_competences(people),
    )


def _people(
    job: Job,
    situation: Situation,
    clearances: Iterable[Clearance],
    connections: Iterable[Connection],
    purges: Iterable[Purge],
) -> set[int]:
    found = {row.recorded_by_id for rows in (situation.records, clearances, purges) for row in rows}
    for connection in connections:
        found |= {connection.connected_by_id, connection.disconnected_by_id}
    return {user_id for user_id in found | {job.technician_id} if user_id is not None}


def _attachments(job: Job, situation: Situation) -> tuple[Attachment, ...]:
    """Return what is attached to the job and to its step records and stands, oldest first."""
    parents = [job_parent(job), *(step_parent(record, job) for record in situation.records)]
    rows = attachments_of(SYSTEM, parents)
    return tuple(reversed(rows))


def _thumbnails(attachments: Iterable[Attachment]) -> dict[str, bytes]:
    """Return the first pictures as small JPEGs; `verify_records` names those that are missing."""
    found = {}
    pictures = (row for row in attachments if row.type.is_picture)
    for row in islice(pictures, MOST_PHOTOS):
        with suppress(FileNotFoundError):
            found[row.public_id] = thumbnail_path(row.public_id).read_bytes()
    return found


def _refuted(purges: Iterable[Purge]) -> frozenset[int]:
    ids = [purge.pk for purge in purges]
    withdrawn = Exposure.objects.filter(purge__in=ids, corrected_by__isnull=False)
    return frozenset(purge_id for purge_id in withdrawn.values_list("purge_id", flat=True) if purge_id)


def _purged_before(connections: Iterable[Connection]) -> dict[int, Exposure]:
    first: dict[int, datetime] = {}
    for connection in connections:
        first.setdefault(connection.piece_id, connection.connected_at)
    if not first:
        return {}
    before = (Q(piece_id=piece_id, occurred_at__lte=moment) for piece_id, moment in first.items())
    rows = (
        Exposure.objects.filter(reduce(or_, before), kind=ExposureKind.PURGED, verified=True)
        .filter(corrected_by__isnull=True)
        .order_by("piece_id", "-occurred_at", "-sequence")
        .distinct("piece_id")
    )
    return {row.piece_id: row for row in rows}


def _competences(user_ids: set[int]) -> dict[int, tuple[Competence, ...]]:
    found: dict[int, list[Competence]] = defaultdict(list)
    for row in Competence.objects.filter(user_id__in=user_ids).order_by("user_id", "kind", "-issued_on"):
        found[row.user_id].append(row)
    return {user_id: tuple(rows) for user_id, rows in found.items()}
