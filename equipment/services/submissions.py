"""A purge that is sent twice is recorded once.

A second press, or a tablet that sends again after a dead spot, must not write a second purge: the log only
grows, so a duplicate could never be taken away again. Looking for "the same readings a moment ago" would
guess, since two loops may well be purged with equal readings; so the form carries a key that it was given
once, and the key is kept among the typed readings, under the record's hash.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import connection, transaction
from django.utils.translation import gettext as _

from equipment.errors import SubmissionReused
from equipment.models import Purge
from equipment.purging import PurgeReadings
from equipment.services.purges import purge_record
from equipment.services.rejudging import readings_of
from shopcool.core.actors import Actor

KEY = "submission_key"


@transaction.atomic
def purge_submit(
    *,
    actor: Actor,
    submission_key: UUID,
    machine_id: int,
    piece_ids: Sequence[int],
    readings: PurgeReadings,
    occurred_at: datetime,
    now: datetime,
    job_number: str = "",
    typed: dict[str, Any] | None = None,
    note: str = "",
) -> Purge:
    """Record a purge, or return the one that the same person recorded with the same key before.

    Raises SubmissionReused when that one says something else, and what
    :func:`equipment.services.purges.purge_record` raises.
    """
    _wait_for(submission_key)
    key = str(submission_key)
    earlier = Purge.objects.filter(recorded_by_id=actor.user_id, **{f"readings__{KEY}": key}).first()
    if earlier is not None:
        _require_same(earlier, machine_id, piece_ids, readings)
        return earlier
    return purge_record(
        actor=actor,
        machine_id=machine_id,
        piece_ids=piece_ids,
        readings=readings,
        occurred_at=occurred_at,
        now=now,
        job_number=job_number,
        typed={**(typed or {}), KEY: key},
        note=note,
    ).purge


def _require_same(earlier: Purge, machine_id: int, piece_ids: Sequence[int], readings: PurgeReadings) -> None:
    same_loop = set(earlier.piece_ids) == {machine_id, *piece_ids}
    if not same_loop or readings_of(earlier) != readings:
        raise SubmissionReused(
            _("This page was recorded already, with another loop or other readings. Open a new purge.")
        )


def _wait_for(submission_key: UUID) -> None:
    """Wait until another request with the same key has ended; the lock goes with the transaction."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_advisory_xact_lock(%s)", [submission_key.int % 2**63])
