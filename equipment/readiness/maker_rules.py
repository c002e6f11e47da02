"""Rules that the maker of this vehicle asks for, as the shop entered them with their source."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from django.utils.translation import gettext as _

from equipment.choices import PieceKind
from equipment.readiness.facts import ClearanceRequest, PieceFacts
from equipment.readiness.reasons import Reason, refuse, warn
from shopcool.vehicles.choices import Additive


def _no_dye(request: ClearanceRequest, piece: PieceFacts) -> Iterator[Reason]:
    if not request.circuit.no_dye or request.is_high_voltage:
        return  # before high voltage dye is refused whatever the maker says, see high_voltage_rules
    if Additive.DYE in piece.residue.additives:
        yield refuse(
            "dye_residue",
            _("%(piece)s was in contact with dye, and the maker of this vehicle allows none.")
            % {"piece": piece.code},
            _("Run a line purge with %(piece)s in the loop.") % {"piece": piece.code},
            request.circuit.maker_source,
            piece,
        )
    if piece.kind is PieceKind.MACHINE and piece.can_inject_dye is not False:
        yield warn(
            "dye_injection_off",
            _("%(piece)s can inject dye, and the maker of this vehicle allows none.") % {"piece": piece.code},
            _("Keep its dye injection switched off and its dye bottle empty."),
            request.circuit.maker_source,
            piece,
        )


def _dedicated_hoses(request: ClearanceRequest, piece: PieceFacts) -> Iterator[Reason]:
    if not request.circuit.dedicated_hoses or piece.kind is not PieceKind.HOSE_SET:
        return
    if piece.dedicated_to == request.circuit.lubricant:
        return
    yield refuse(
        "hoses_not_dedicated",
        _("The maker of this vehicle asks for hoses that only touch %(oil)s; %(piece)s is not.")
        % {"oil": request.circuit.lubricant.label, "piece": piece.code},
        _("Take a hose set dedicated to %(oil)s.") % {"oil": request.circuit.lubricant.label},
        request.circuit.maker_source,
        piece,
    )


MAKER_RULES: tuple[Callable[[ClearanceRequest, PieceFacts], Iterator[Reason]], ...] = (
    _no_dye,
    _dedicated_hoses,
)
