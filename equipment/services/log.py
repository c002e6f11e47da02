"""The one way into the exposure log: lock, append, keep the projection, judge again what came after."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from uuid import UUID, uuid4

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from equipment.choices import ExposureKind
from equipment.errors import NotInThePast, UnknownPiece
from equipment.exposure import Residue, evolve
from equipment.lives import Lives, condition_of
from equipment.models import Exposure, PieceState, Purge
from equipment.readiness import RULES_VERSION
from equipment.selectors import event_of, holders
from shopcool.core.actors import Actor
from shopcool.core.errors import Conflict
from shopcool.core.records import append
from shopcool.vehicles.models import Circuit

NO_RESIDUE = Residue()
_OF_STATE = tuple(field.attname for field in PieceState._meta.concrete_fields)
_OF_PIECE = ("piece__code", "piece__kind", "piece__retired_at")


@dataclass(frozen=True)
class Entry:
    """One exposure to be written: what happened to which piece, when, and what it leaves behind."""

    piece_id: int
    kind: ExposureKind
    occurred_at: datetime
    residue: Residue = NO_RESIDUE
    circuit: Circuit | None = None
    job_number: str = ""
    purge: Purge | None = None
    verified: bool = False
    corrects: Exposure | None = None
    note: str = ""
    action: UUID = field(default_factory=uuid4)
    #: Given once to the form that was filled in, and kept as the action: a form sent twice is one entry.
    submission_key: UUID | None = None

    @property
    def since(self) -> datetime:
        """The earliest moment that the entry changes."""
        if self.corrects is None:
            return self.occurred_at
        return min(self.occurred_at, self.corrects.occurred_at)


@dataclass(frozen=True)
class Locked:
    """The locked states by piece, and whether every piece is locked, because an entry may reach any."""

    states: dict[int, PieceState]
    everything: bool = False


def lock_pieces(piece_ids: Iterable[int], now: datetime) -> dict[int, PieceState]:
    """Lock the states of the pieces, always in the same order, and return them by piece.

    Raises UnknownPiece, and Conflict when something newer than ``now`` was recorded while waiting.
    """
    wanted = sorted(set(piece_ids))
    states = _lockable().filter(piece_id__in=wanted, piece__retired_at__isnull=True)
    found = {state.piece_id: state for state in states}
    if len(found) != len(wanted):
        raise UnknownPiece(_("One of the pieces does not exist or is no longer in use."))
    if any(state.last_occurred_at and state.last_occurred_at > now for state in found.values()):
        raise Conflict(_("A colleague recorded something about this piece a moment ago. Look again."))
    return found


def lock_all_pieces() -> dict[int, PieceState]:
    """Lock every piece: a late entry may reach any of them."""
    return {state.piece_id: state for state in _lockable()}


def _lockable() -> QuerySet[PieceState]:
    """Return states to be locked in their order, each with what an entry asks of its piece."""
    states = PieceState.objects.select_for_update(of=("self",)).select_related("piece")
    return states.only(*_OF_STATE, *_OF_PIECE).order_by("piece_id")


def lock_for(piece_ids: Sequence[int], occurred_at: datetime, now: datetime) -> Locked:
    """Lock what an entry of that time may change, and refuse a time that has not come yet.

    A late entry may reach any piece, and so may one of a piece that is on a vehicle.
    """
    if occurred_at > now:
        raise NotInThePast(_("This can't have happened later than now."), field="occurred_at")
    if occurred_at == now and not holders(piece_ids):
        locked = lock_pieces(piece_ids, now)
        if holders(piece_ids):
            raise Conflict(_("A colleague connected this piece a moment ago. Look again."))
        return Locked(locked)
    locked = lock_all_pieces()
    in_use = {piece_id for piece_id, state in locked.items() if state.piece.retired_at is None}
    if set(piece_ids) - in_use:
        raise UnknownPiece(_("One of the pieces does not exist or is no longer in use."))
    return Locked(locked, everything=True)


def write_entry(
    entry: Entry, state: PieceState, *, actor: Actor, now: datetime, lives: Lives | None = None
) -> Exposure:
    """Append to the log of a locked piece; bring its state and what was read of it up to date."""
    exposure = append(
        Exposure(
            piece_id=entry.piece_id,
            kind=entry.kind,
            lubricants=sorted(entry.residue.lubricants),
            refrigerants=sorted(entry.residue.refrigerants),
            additives=sorted(entry.residue.additives),
            unknown=entry.residue.unknown,
            verified=entry.verified,
            circuit=entry.circuit,
            job_number=entry.job_number,
            purge=entry.purge,
            corrects=entry.corrects,
            occurred_at=entry.occurred_at,
            note=entry.note,
            action=entry.submission_key or entry.action,
            rules_version=RULES_VERSION,
        ),
        stream=f"exposure:piece:{entry.piece_id}",
        actor=actor,
        now=now,
    )
    lives = lives or Lives()
    lives.add(exposure)
    _project(state, exposure, lives)
    return exposure


def is_late(entry: Entry, state: PieceState) -> bool:
    """Whether something newer is already in the log, so that the past changes."""
    if entry.corrects is not None:
        return True
    return state.last_occurred_at is not None and entry.occurred_at < state.last_occurred_at


def _project(state: PieceState, exposure: Exposure, lives: Lives) -> None:
    """Keep the projection: one step when the entry is the newest, else fold the whole life again."""
    in_order = state.last_occurred_at is None or exposure.occurred_at >= state.last_occurred_at
    if in_order and exposure.corrects_id is None:
        state.take(evolve(state.condition(), event_of(exposure, None)))
        state.last_occurred_at = exposure.occurred_at
    else:
        state.take(condition_of(lives.of(exposure.piece_id)))
    state.sequence = exposure.sequence
    state.save()
