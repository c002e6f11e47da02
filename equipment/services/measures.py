"""Entering what a hose set holds and how a machine weighs."""

from __future__ import annotations

from dataclasses import dataclass

from django.db import transaction
from django.utils.translation import gettext as _

from equipment.choices import HoseAllowance, PieceKind
from equipment.errors import UnknownPiece
from equipment.measures import HoseMeasures
from equipment.models import Piece
from equipment.policies import may_manage_equipment
from shopcool.core.actors import Actor
from shopcool.core.errors import DomainError, require
from shopcool.core.quantities import stored_text
from shopcool.engineering.errors import Refusal
from shopcool.engineering.hose import LARGEST_HOSE_M3
from shopcool.engineering.quantities import Quantity

MOST_LINES = 4
LARGEST_TOLERANCE_KG = 0.5


@dataclass(frozen=True)
class HoseMeasured:
    """A hose set as it was measured: bore and length of one line, or the content as weighed."""

    bore: Quantity | None = None
    length: Quantity | None = None
    line_count: int = 1
    content: Quantity | None = None
    source: str = ""


@dataclass(frozen=True)
class MachineWeighs:
    """How a machine weighs; ``allows_for`` is the hose set it was set up with."""

    tolerance: Quantity | None = None
    allowance: str = ""
    allows_for: Piece | None = None


@transaction.atomic
def hoses_measure(*, actor: Actor, piece: Piece, measured: HoseMeasured) -> Piece:
    """Enter what a hose set holds. A machine that was set up with it has to be set up again.

    Raises NotAllowed, and DomainError when it is no hose set or a measure can't be one of a service hose.
    """
    require(may_manage_equipment(actor))
    _check_kind(piece, PieceKind.HOSE_SET)
    _check_measures(measured)
    piece = Piece.objects.select_for_update().get(pk=piece.pk)
    before = (piece.bore_m, piece.length_m, piece.line_count, piece.content_m3)
    piece.bore_m = measured.bore.si if measured.bore else None
    piece.length_m = measured.length.si if measured.length else None
    piece.line_count = measured.line_count
    piece.content_m3 = measured.content.si if measured.content else None
    piece.measure_source = " ".join(measured.source.split())
    piece.measures_typed = _typed(bore=measured.bore, length=measured.length, content=measured.content)
    piece.save()
    if before != (piece.bore_m, piece.length_m, piece.line_count, piece.content_m3):
        Piece.objects.filter(allows_for=piece).update(allows_for=None)
    return piece


@transaction.atomic
def machine_weighing_set(*, actor: Actor, piece: Piece, weighs: MachineWeighs) -> Piece:
    """Enter how a machine weighs and which hose set it adds for.

    Raises NotAllowed, UnknownPiece, and DomainError when it is no machine or the answers contradict.
    """
    require(may_manage_equipment(actor))
    _check_kind(piece, PieceKind.MACHINE)
    _check_weighing(weighs)
    piece = Piece.objects.select_for_update().get(pk=piece.pk)
    piece.scale_tolerance_kg = weighs.tolerance.si if weighs.tolerance else None
    piece.hose_allowance = weighs.allowance
    piece.allows_for = weighs.allows_for
    piece.measures_typed = _typed(tolerance=weighs.tolerance)
    piece.save()
    return piece


def _check_kind(piece: Piece, kind: PieceKind) -> None:
    if piece.kind != kind or piece.retired_at is not None:
        sentence = _("%(piece)s is no %(kind)s in use.")
        raise DomainError(sentence % {"piece": piece.code, "kind": str(kind.label).lower()}, code="kind")


def _check_measures(measured: HoseMeasured) -> None:
    if not 1 <= measured.line_count <= MOST_LINES:
        sentence = _("A hose set has 1 to %(most)d lines.") % {"most": MOST_LINES}
        raise DomainError(sentence, code="lines", field="line_count")
    if (measured.bore is None) != (measured.length is None):
        missing = "length" if measured.length is None else "bore"
        raise DomainError(_("Bore and length belong together."), code="measures", field=missing)
    known = measured.bore is not None or measured.content is not None
    if known and not measured.source.strip():
        raise DomainError(_("Say how this was found out."), code="source", field="source")
    if measured.content is not None and not 0.0 < measured.content.si <= LARGEST_HOSE_M3:
        raise DomainError(_("No service hose holds that much."), code="content", field="content")
    try:
        _bore_and_length(measured).volume  # noqa: B018
    except Refusal as refusal:
        field = {"bore_m": "bore", "length_m": "length"}.get(refusal.field, "bore")
        raise DomainError(refusal.message, code=refusal.code, field=field) from refusal


def _bore_and_length(measured: HoseMeasured) -> HoseMeasures:
    bore, length = measured.bore, measured.length
    return HoseMeasures(bore_m=bore.si if bore else None, length_m=length.si if length else None)


def _check_weighing(weighs: MachineWeighs) -> None:
    if weighs.allowance not in {"", *HoseAllowance.values}:
        raise DomainError(_("Choose one of the answers."), code="choice", field="allowance")
    if weighs.tolerance is not None and not 0.0 < weighs.tolerance.si <= LARGEST_TOLERANCE_KG:
        raise DomainError(_("A scale is within 1 g to 500 g."), code="tolerance", field="tolerance")
    hoses = weighs.allows_for
    if hoses is None:
        return
    if weighs.allowance != HoseAllowance.ALLOWS:
        sentence = _("Only a machine that adds what its hoses keep is set up with a hose set.")
        raise DomainError(sentence, code="allows_for", field="allows_for")
    if hoses.kind != PieceKind.HOSE_SET or hoses.retired_at is not None:
        raise UnknownPiece(_("This is no hose set in use."), field="allows_for")


def _typed(**quantities: Quantity | None) -> dict[str, str]:
    return {name: stored_text(quantity) for name, quantity in quantities.items() if quantity}
