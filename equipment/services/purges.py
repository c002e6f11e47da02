"""Line purges: who stands in the loop, what was read, whether it counts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import uuid4

from django.db import transaction
from django.db.models import Q
from django.utils.translation import gettext as _

from equipment.choices import ExposureKind, PieceKind
from equipment.errors import PieceBusy, PurgeImpossible
from equipment.exposure import Residue, fold
from equipment.incidents import Incident
from equipment.lives import Lives
from equipment.maintenance.use import piece_used
from equipment.models import Connection, Piece, PieceState, Purge
from equipment.policies import may_record_purge
from equipment.purging import PurgeFinding, PurgeMethod, PurgeReadings, judge_purge
from equipment.selectors import purge_method
from equipment.services.log import Entry, is_late, lock_for, write_entry
from equipment.services.rejudging import Rejudging, judge_again, take_from_others
from shopcool.core.actors import Actor
from shopcool.core.errors import require
from shopcool.core.records import append
from shopcool.shop.selectors import shop_get
from shopcool.vehicles.choices import Refrigerant


@dataclass(frozen=True)
class PurgeOutcome:
    """The recorded purge, why it does not count (empty when it does), and incidents of a late entry."""

    purge: Purge
    findings: tuple[PurgeFinding, ...]
    incidents: tuple[Incident, ...] = ()


@transaction.atomic
def purge_record(
    *,
    actor: Actor,
    machine_id: int,
    piece_ids: Sequence[int],
    readings: PurgeReadings,
    occurred_at: datetime,
    now: datetime,
    job_number: str = "",
    typed: dict[str, Any] | None = None,
    note: str = "",
) -> PurgeOutcome:
    """Record a line purge of a machine with the pieces in its loop, in their order.

    A purge that does not meet its method is recorded as well, with its findings, and clears nothing.
    ``typed`` keeps the readings as they were entered. Raises NotAllowed, PurgeImpossible, PieceBusy,
    NotInThePast, UnknownPiece.
    """
    require(may_record_purge(actor))
    loop_ids = [machine_id, *(piece_id for piece_id in piece_ids if piece_id != machine_id)]
    states = lock_for(loop_ids, occurred_at, now).states
    lives = Lives()
    loop = _loop(loop_ids)
    _refuse_while_connected(loop, occurred_at)
    method = purge_method(shop_get())
    findings = judge_purge(method, readings, _residue_before(states[machine_id], lives, occurred_at))
    purge = _append(actor, loop, method, readings, findings, occurred_at, now, job_number, typed or {}, note)
    if readings.circulated_kg:
        piece_used(
            actor=actor, piece_id=machine_id, mass_kg=readings.circulated_kg, occurred_at=occurred_at,
            now=now, job_number=job_number,
        )  # fmt: skip
    left = _left_in_loop(purge, states, lives)
    incidents = _write_loop(purge, states, lives, left, actor=actor, now=now)
    return PurgeOutcome(purge, findings, tuple(incidents))


def _loop(loop_ids: Sequence[int]) -> list[Piece]:
    found = Piece.objects.in_bulk(loop_ids)
    loop = [found[piece_id] for piece_id in loop_ids]
    machine = loop[0]
    if machine.kind != PieceKind.MACHINE:
        raise PurgeImpossible(_("A line purge runs through a service machine."), field="machine")
    for piece in loop:
        if not PieceKind(piece.kind).can_be_purged:
            raise PurgeImpossible(
                _("%(piece)s can't stand in a purge loop.") % {"piece": piece.code}, field="pieces"
            )
        if piece.refrigerant and piece.refrigerant != machine.refrigerant:
            raise PurgeImpossible(
                _("%(piece)s is for %(gas)s and can't be purged with %(machine)s.")
                % {
                    "piece": piece.code,
                    "gas": Refrigerant(piece.refrigerant).label,
                    "machine": machine.code,
                },
                field="pieces",
            )
    return loop


def _refuse_while_connected(loop: Sequence[Piece], occurred_at: datetime) -> None:
    row = (
        Connection.objects.filter(piece__in=loop, connected_at__lte=occurred_at)
        .filter(Q(disconnected_at__isnull=True) | Q(disconnected_at__gt=occurred_at))
        .select_related("piece")
        .order_by("piece__code")
        .first()
    )
    if row is not None:
        raise PieceBusy(
            _("%(piece)s was on job %(job)s then. Disconnect it before the purge.")
            % {"piece": row.piece.code, "job": row.job_number},
            field="pieces",
        )


def _residue_before(state: PieceState, lives: Lives, occurred_at: datetime) -> Residue:
    if state.last_occurred_at is None or state.last_occurred_at < occurred_at:
        return state.condition().residue
    life = lives.events(state.piece_id)
    return fold(event for event in life if event.occurred_at < occurred_at).residue


def _append(
    actor: Actor,
    loop: Sequence[Piece],
    method: PurgeMethod,
    readings: PurgeReadings,
    findings: Sequence[PurgeFinding],
    occurred_at: datetime,
    now: datetime,
    job_number: str,
    typed: dict[str, Any],
    note: str,
) -> Purge:
    return append(
        Purge(
            machine=loop[0],
            piece_ids=[piece.pk for piece in loop],
            refrigerant=loop[0].refrigerant,
            method=method.as_record(),
            circulated_kg=readings.circulated_kg,
            duration_s=readings.duration_s,
            final_vacuum_pa=readings.final_vacuum_pa,
            completed=readings.completed,
            readings=typed,
            verified=not findings,
            findings=[finding.as_record() for finding in findings],
            job_number=job_number,
            occurred_at=occurred_at,
            note=note,
        ),
        stream=f"purge:machine:{loop[0].pk}",
        actor=actor,
        now=now,
    )


def _left_in_loop(purge: Purge, states: dict[int, PieceState], lives: Lives) -> Residue:
    """Return what the loop leaves in its pieces: its gas, and all their residue when it did not count."""
    left = Residue(refrigerants=frozenset({purge.refrigerant}))
    if purge.verified:
        return left
    for piece_id in purge.piece_ids:
        left = left.joined(_residue_before(states[piece_id], lives, purge.occurred_at))
    return left


def _write_loop(
    purge: Purge,
    states: dict[int, PieceState],
    lives: Lives,
    left: Residue,
    *,
    actor: Actor,
    now: datetime,
) -> list[Incident]:
    action = uuid4()
    incidents: list[Incident] = []
    for piece_id in sorted(purge.piece_ids):
        entry = Entry(
            piece_id=piece_id,
            kind=ExposureKind.PURGED,
            occurred_at=purge.occurred_at,
            residue=left,
            purge=purge,
            verified=purge.verified,
            job_number=purge.job_number,
            action=action,
        )
        late = is_late(entry, states[piece_id])
        exposure = write_entry(entry, states[piece_id], actor=actor, now=now, lives=lives)
        if late:
            rejudging = Rejudging(exposure, states, now, lives)
            incidents.extend(judge_again(rejudging, piece_id, purge.occurred_at))
            incidents.extend(take_from_others(rejudging, piece_id, purge.occurred_at))
    return incidents
