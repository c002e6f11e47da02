"""Pieces and their documents: taken into the workshop, described, retired."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from equipment.choices import DocumentKind, ExposureKind, PieceKind
from equipment.errors import PieceBusy, ReasonMissing
from equipment.models import Piece, PieceDocument, PieceState
from equipment.oil.lots import injector_drain
from equipment.policies import may_manage_equipment
from equipment.selectors import holders
from equipment.services.log import Entry, lock_pieces, write_entry
from shopcool.core.actors import Actor
from shopcool.core.errors import Conflict, DomainError, require


@dataclass(frozen=True)
class PieceDescription:
    """What is written on a piece and known about its make."""

    code: str
    name: str
    kind: PieceKind
    refrigerant: str = ""
    lubricant: str = ""
    lubricant_grade: str = ""
    dedicated_to: str = ""
    maker: str = ""
    serial_number: str = ""
    can_inject_oil: bool | None = None
    can_inject_dye: bool | None = None
    is_marked_for_contaminated: bool = False
    glove_class: str = ""
    issued_on: date | None = None


@dataclass(frozen=True)
class DocumentDescription:
    """A certificate or calibration as it is written on its paper."""

    kind: DocumentKind
    number: str
    body: str
    issued_on: date
    valid_until: date | None = None
    standard: str = ""
    edition: str = ""
    refrigerants: tuple[str, ...] = field(default_factory=tuple)
    covers_high_voltage: bool = False
    lubricants: tuple[str, ...] = field(default_factory=tuple)


@transaction.atomic
def piece_register(*, actor: Actor, description: PieceDescription, now: datetime) -> Piece:
    """Take a piece into the workshop; whatever it touched before is unknown.

    Raises NotAllowed, Conflict when the code is taken, DomainError when its label is incomplete.
    """
    require(may_manage_equipment(actor))
    _check(description)
    try:
        with transaction.atomic():
            piece = Piece.objects.create(**vars(description))
    except IntegrityError as error:
        raise Conflict(
            _("Another piece has the code %(code)s already.") % {"code": description.code}, field="code"
        ) from error
    state = PieceState.objects.create(piece=piece)
    write_entry(Entry(piece.pk, ExposureKind.REGISTERED, now), state, actor=actor, now=now)
    return piece


def _check(description: PieceDescription) -> None:
    if description.kind is PieceKind.MACHINE and not description.refrigerant:
        raise DomainError(_("Say which refrigerant the machine is for."), field="refrigerant")
    if description.kind is PieceKind.GLOVES and not description.glove_class:
        raise DomainError(_("Say of which class the gloves are."), field="glove_class")
    if description.kind is not PieceKind.INJECTOR:
        return
    if not description.refrigerant:
        raise DomainError(_("An injector is labelled for one refrigerant."), field="refrigerant")
    if not description.lubricant:
        raise DomainError(_("An injector is labelled for one oil class."), field="lubricant")


@transaction.atomic
def piece_retire(*, actor: Actor, piece: Piece, reason: str, now: datetime) -> Piece:
    """Take a piece out of the workshop for good; its log stays, oil that an injector still holds is waste.

    Raises NotAllowed, ReasonMissing, PieceBusy while it is on a vehicle.
    """
    require(may_manage_equipment(actor))
    if not reason.strip():
        raise ReasonMissing(_("Say why the piece is retired."), field="reason")
    if piece.kind == PieceKind.INJECTOR:
        # Before the piece is locked: filling locks in this order, too.
        why = _("%(piece)s was retired") % {"piece": piece.code}
        injector_drain(actor=actor, injector=piece, reason=why, now=now)
    state = lock_pieces([piece.pk], now)[piece.pk]
    busy = holders([piece.pk])
    if busy:
        raise PieceBusy(_("%(piece)s is on job %(job)s.") % {"piece": piece.code, "job": busy[piece.pk]})
    entry = Entry(piece.pk, ExposureKind.OUT_OF_SERVICE, now, note=reason)
    write_entry(entry, state, actor=actor, now=now)
    piece.retired_at = now
    piece.save(update_fields=["retired_at"])
    return piece


@transaction.atomic
def document_add(
    *, actor: Actor, piece: Piece, description: DocumentDescription, now: datetime
) -> PieceDocument:
    """Enter a certificate or a calibration of a piece; the same one entered twice is one document.

    Raises NotAllowed, and DomainError when its dates contradict each other or it covers nothing.
    """
    require(may_manage_equipment(actor))
    if description.valid_until is not None and description.valid_until < description.issued_on:
        raise DomainError(_("It can't end before it was issued."), field="valid_until")
    if description.kind is DocumentKind.CERTIFICATE and not description.refrigerants:
        raise DomainError(_("Say which refrigerants the certificate covers."), field="refrigerants")
    columns = vars(description).items()
    values = {name: list(value) if isinstance(value, tuple) else value for name, value in columns}
    PieceState.objects.select_for_update().get(piece=piece)
    same = PieceDocument.objects.filter(piece=piece, **values).first()
    if same is not None:
        return same
    recorded = {"created_at": now, "recorded_by_id": actor.user_id, "recorded_by_name": actor.name}
    return PieceDocument.objects.create(piece=piece, **values, **recorded)
