"""What happened to a piece: one service per kind of entry, all through the same log."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _

from equipment.choices import ExposureKind
from equipment.errors import CannotWithdraw, ContactUnclear, NotWetted, ReasonMissing, SubmissionReused
from equipment.exposure import Residue
from equipment.incidents import Incident
from equipment.lives import Lives
from equipment.models import Exposure, Piece
from equipment.policies import (
    may_inspect,
    may_put_out_of_service,
    may_record_exposure,
    may_return_to_service,
    may_withdraw_exposure,
)
from equipment.selectors import circuit_facts, holders
from equipment.services.log import NO_RESIDUE, Entry, is_late, lock_for, write_entry
from equipment.services.rejudging import Rejudging, judge_again
from shopcool.core.actors import Actor
from shopcool.core.errors import require
from shopcool.vehicles.models import Circuit


@dataclass(frozen=True)
class Recorded:
    """An entry of the log, and the incidents it brought to light."""

    exposure: Exposure
    incidents: tuple[Incident, ...] = ()


@transaction.atomic
def entry_record(entry: Entry, *, actor: Actor, now: datetime) -> Recorded:
    """Write an entry; when it is late, or the piece is on a vehicle, carry it on and judge again.

    The caller has checked the right.
    """
    locked = lock_for([entry.piece_id], entry.since, now)
    state = locked.states[entry.piece_id]
    if entry.kind.tells_of_residue:
        _require_wetted(state.piece)
    earlier = _recorded_before(entry, actor)
    if earlier is not None:
        return Recorded(earlier)
    spreads = is_late(entry, state) or (locked.everything and bool(holders([entry.piece_id])))
    lives = Lives()
    exposure = write_entry(entry, state, actor=actor, now=now, lives=lives)
    if not spreads:
        return Recorded(exposure)
    rejudging = Rejudging(exposure, locked.states, now, lives)
    return Recorded(exposure, tuple(judge_again(rejudging, entry.piece_id, entry.since)))


def _recorded_before(entry: Entry, actor: Actor) -> Exposure | None:
    """Return what the same form wrote when it was sent before; the lock on the piece makes two of them wait.

    Raises SubmissionReused when it says something else now.
    """
    if entry.submission_key is None:
        return None
    earlier = Exposure.objects.filter(piece_id=entry.piece_id, action=entry.submission_key).first()
    if earlier is None:
        return None
    said = (earlier.kind, earlier.note, earlier.lubricants, earlier.recorded_by_id)
    if said != (entry.kind, entry.note, sorted(entry.residue.lubricants), actor.user_id):
        raise SubmissionReused(_("This page was recorded already, with something else in it. Open it anew."))
    return earlier


def contact_declare(
    *,
    actor: Actor,
    piece_id: int,
    occurred_at: datetime,
    now: datetime,
    circuit: Circuit | None = None,
    residue: Residue = NO_RESIDUE,
    note: str,
    submission_key: UUID | None = None,
) -> Recorded:
    """Record that a piece touched a circuit or an oil, now or earlier, outside a connection of Shopcool.

    Raises NotAllowed, ReasonMissing without a note, NotInThePast, NotWetted, UnknownPiece.
    """
    require(may_record_exposure(actor))
    _require_note(note, _("Say what the piece touched and how you know."))
    if circuit is not None:
        residue = residue.joined(circuit_facts(circuit).residue)
    if residue == NO_RESIDUE:
        raise ContactUnclear(
            _("Say which circuit, oil, gas or additive the piece touched, or that it is unknown.")
        )
    entry = Entry(
        piece_id=piece_id,
        kind=ExposureKind.CONTACT_DECLARED,
        occurred_at=occurred_at,
        residue=residue,
        circuit=circuit,
        note=note,
        submission_key=submission_key,
    )
    return entry_record(entry, actor=actor, now=now)


def pump_oil_suspect(
    *,
    actor: Actor,
    piece_id: int,
    occurred_at: datetime,
    now: datetime,
    note: str = "",
    submission_key: UUID | None = None,
) -> Recorded:
    """Record that vacuum-pump oil may have crept in: pump stopped with an open valve, or power lost."""
    require(may_record_exposure(actor))
    kind = ExposureKind.PUMP_OIL_SUSPECTED
    entry = Entry(piece_id, kind, occurred_at, note=note, submission_key=submission_key)
    return entry_record(entry, actor=actor, now=now)


def residue_declare_unknown(
    *,
    actor: Actor,
    piece_id: int,
    occurred_at: datetime,
    now: datetime,
    note: str,
    submission_key: UUID | None = None,
) -> Recorded:
    """Record that a piece came back from elsewhere, so that nobody knows what it touched."""
    require(may_record_exposure(actor))
    _require_note(note, _("Say where the piece has been."))
    kind = ExposureKind.RESIDUE_UNKNOWN
    entry = Entry(piece_id, kind, occurred_at, note=note, submission_key=submission_key)
    return entry_record(entry, actor=actor, now=now)


def piece_inspect(
    *,
    actor: Actor,
    piece_id: int,
    residue: Residue,
    occurred_at: datetime,
    now: datetime,
    note: str,
    submission_key: UUID | None = None,
) -> Recorded:
    """Record a documented inspection: what is inside is now known."""
    require(may_inspect(actor))
    _require_note(note, _("Say how the piece was inspected and where the document is."))
    entry = Entry(
        piece_id,
        ExposureKind.INSPECTED,
        occurred_at,
        residue=residue,
        note=note,
        submission_key=submission_key,
    )
    return entry_record(entry, actor=actor, now=now)


def piece_put_out_of_service(
    *, actor: Actor, piece_id: int, reason: str, now: datetime, submission_key: UUID | None = None
) -> Recorded:
    """Take a piece out of service: nobody may connect it until a named person returns it."""
    require(may_put_out_of_service(actor))
    _require_note(reason, _("Say why the piece must not be used."))
    entry = Entry(piece_id, ExposureKind.OUT_OF_SERVICE, now, note=reason, submission_key=submission_key)
    return entry_record(entry, actor=actor, now=now)


def piece_return_to_service(
    *, actor: Actor, piece_id: int, reason: str, now: datetime, submission_key: UUID | None = None
) -> Recorded:
    """Return a piece to service, saying what was done."""
    require(may_return_to_service(actor))
    _require_note(reason, _("Say what was done before the piece may be used again."))
    entry = Entry(piece_id, ExposureKind.RETURNED, now, note=reason, submission_key=submission_key)
    return entry_record(entry, actor=actor, now=now)


def exposure_withdraw(*, actor: Actor, exposure: Exposure, reason: str, now: datetime) -> Recorded:
    """Withdraw an entry that is wrong; the entry stays readable and the withdrawal points at it.

    Connections, purges and withdrawals themselves can't be withdrawn: they are facts Shopcool took part in.
    """
    require(may_withdraw_exposure(actor))
    _require_note(reason, _("Say why the entry is wrong."))
    if not ExposureKind(exposure.kind).can_be_withdrawn:
        raise CannotWithdraw(_("This entry can't be withdrawn. Add a new entry that tells what is true."))
    if Exposure.objects.filter(corrects=exposure).exists():
        raise CannotWithdraw(_("This entry has been withdrawn already."), code="already_withdrawn")
    entry = Entry(
        piece_id=exposure.piece_id,
        kind=ExposureKind.VOIDED,
        occurred_at=exposure.occurred_at,
        corrects=exposure,
        note=reason,
    )
    return entry_record(entry, actor=actor, now=now)


def _require_wetted(piece: Piece) -> None:
    if not piece.is_wetted:
        raise NotWetted(
            _("No refrigerant passes through %(piece)s, so it carries no residue.") % {"piece": piece.code}
        )


def _require_note(note: str, message: str) -> None:
    if not note.strip():
        raise ReasonMissing(message, field="note")
