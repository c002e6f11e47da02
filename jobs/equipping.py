"""Whether the workshop has what a car needs: a machine and a hose set that may go on it now."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from django.utils.translation import gettext as _

from equipment.choices import PieceKind
from equipment.models import Piece
from equipment.readiness import CircuitFacts, PieceFacts, piece_decision
from equipment.selectors import circuit_facts, piece_facts
from equipment.uses import purge_clears_for
from shopcool.vehicles.models import Circuit

#: What every connection needs, as far as the workshop keeps such pieces of their own.
NEEDED = (PieceKind.MACHINE, PieceKind.HOSE_SET)


@dataclass(frozen=True)
class Wanting:
    """A kind of piece that is missing for a car; ``piece_ids`` would do after a line purge.

    ``is_busy`` says that pieces that fit are only on another car.
    """

    sentence: str
    piece_ids: tuple[int, ...] = ()
    is_busy: bool = False


@dataclass(frozen=True)
class Equipping:
    """The machines and hose sets of the workshop on a day."""

    pieces: tuple[PieceFacts, ...]
    today: date

    def wanting(self, circuit: Circuit) -> Wanting | None:
        """Return what is missing before anything can go on this circuit, None when nothing is."""
        facts = circuit_facts(circuit)
        for kind in NEEDED:
            kept = [piece for piece in self.pieces if piece.kind is kind]
            if not kept or any(piece_decision(facts, piece, self.today).permitted for piece in kept):
                continue
            busy = [piece for piece in kept if piece.busy_on and self._fits(facts, piece)]
            after_purge = [piece for piece in kept if purge_clears_for(facts, piece, self.today)]
            return _busy(busy) if busy and not after_purge else _wanting(kind, after_purge)
        return None

    def _fits(self, circuit: CircuitFacts, piece: PieceFacts) -> bool:
        return piece_decision(circuit, replace(piece, busy_on=""), self.today).permitted


def equipping_of(circuits: Sequence[Circuit], today: date) -> Equipping:
    """Return the machines and hose sets, read once however many circuits will be asked about."""
    if not circuits:
        return Equipping((), today)
    kept = Piece.objects.filter(kind__in=NEEDED, retired_at__isnull=True).order_by("code")
    return Equipping(piece_facts(list(kept)), today)


def _busy(pieces: Sequence[PieceFacts]) -> Wanting:
    listed = _(" or ").join(
        _("%(piece)s, now on %(job)s") % {"piece": piece.code, "job": piece.busy_on} for piece in pieces
    )
    return Wanting(_("Waits for %(pieces)s") % {"pieces": listed}, is_busy=True)


def _wanting(kind: PieceKind, after_purge: Sequence[PieceFacts]) -> Wanting:
    if not after_purge:
        sentence = {
            PieceKind.MACHINE: _("No service machine may go on this car now"),
            PieceKind.HOSE_SET: _("No hose set may go on this car now"),
        }[kind]
        return Wanting(sentence)
    codes = _(" or ").join(piece.code for piece in after_purge)
    sentence = {
        PieceKind.MACHINE: _("Needs a purged machine: %(codes)s"),
        PieceKind.HOSE_SET: _("Needs a purged hose set: %(codes)s"),
    }[kind]
    return Wanting(sentence % {"codes": codes}, tuple(piece.id for piece in after_purge))
