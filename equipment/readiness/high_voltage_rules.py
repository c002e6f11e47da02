"""Rules about residue before high voltage: nothing conductive, nothing unknown, no dye, no sealer."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from django.utils.translation import gettext as _

from equipment.readiness.facts import ClearanceRequest, PieceFacts
from equipment.readiness.reasons import COMMON_PRACTICE, RESIDUAL_OIL, Reason, refuse, words
from shopcool.vehicles.choices import Additive, Lubricant


def _free_of_conductive_oil(request: ClearanceRequest, piece: PieceFacts) -> Iterator[Reason]:
    if not request.is_high_voltage or _only_receives(request, piece):
        return
    fix = (
        _("Run a line purge with %(piece)s in the loop.") % {"piece": piece.code}
        if piece.kind.can_be_purged
        else _("Take another piece; this one can't be cleared by a line purge.")
    )
    conductive = [
        lubricant
        for lubricant in sorted(piece.residue.lubricants)
        if not Lubricant(lubricant).may_enter_high_voltage
    ]
    if conductive:
        yield refuse(
            "conductive_residue",
            _("%(piece)s holds residue of %(oils)s, which conducts and can ruin a high-voltage compressor.")
            % {"piece": piece.code, "oils": words(conductive)},
            fix,
            RESIDUAL_OIL,
            piece,
        )
    if piece.residue.unknown:
        yield refuse(
            "unknown_residue",
            _("Nobody knows what %(piece)s last touched. Unknown is not clean.") % {"piece": piece.code},
            fix,
            COMMON_PRACTICE,
            piece,
        )
    for additive in sorted(piece.residue.additives):
        yield _additive(piece, additive, fix)


def _only_receives(request: ClearanceRequest, piece: PieceFacts) -> bool:
    """A cylinder marked for foul gas takes from the circuit and gives nothing back."""
    return piece.is_marked_for_contaminated and request.is_contaminated_recovery


def _additive(piece: PieceFacts, additive: str, fix: str) -> Reason:
    if additive == Additive.SEALER:
        fix = _("Take another piece; sealer hardens and no purge removes it.")
    return refuse(
        f"{additive.lower()}_residue",
        _("%(piece)s was in contact with %(what)s.")
        % {"piece": piece.code, "what": Additive(additive).label.lower()},
        fix,
        COMMON_PRACTICE,
        piece,
    )


HIGH_VOLTAGE_RULES: tuple[Callable[[ClearanceRequest, PieceFacts], Iterator[Reason]], ...] = (
    _free_of_conductive_oil,
)
