"""Rules about one piece on any vehicle: service, place, refrigerant, oil, dedication."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from django.utils.translation import gettext as _

from equipment.choices import PieceKind
from equipment.readiness.facts import ClearanceRequest, PieceFacts
from equipment.readiness.reasons import COMMON_PRACTICE, SHOP_POLICY, Reason, refuse, warn, words
from shopcool.vehicles.choices import Additive, Lubricant, Refrigerant


def _connectable(request: ClearanceRequest, piece: PieceFacts) -> Iterator[Reason]:
    if piece.is_marked_for_contaminated and request.is_contaminated_recovery:
        return
    if not piece.kind.connects_to_vehicles:
        yield refuse(
            "not_connectable",
            _("%(piece)s is not put on a vehicle itself.") % {"piece": piece.code},
            _("Leave it on the machine."),
            COMMON_PRACTICE,
            piece,
        )


def _in_service(request: ClearanceRequest, piece: PieceFacts) -> Iterator[Reason]:
    return service_reasons(piece)


def service_reasons(piece: PieceFacts) -> Iterator[Reason]:
    """Yield the refusal of a piece that was put out of service."""
    if not piece.in_service:
        yield refuse(
            "out_of_service",
            _("%(piece)s is out of service: %(reason)s")
            % {"piece": piece.code, "reason": piece.out_of_service_reason or _("no reason noted")},
            _("Take another piece, or have the owner return it to service."),
            SHOP_POLICY,
            piece,
        )


def _not_busy(request: ClearanceRequest, piece: PieceFacts) -> Iterator[Reason]:
    if piece.busy_on:
        yield refuse(
            "busy",
            _("%(piece)s is on job %(job)s.") % {"piece": piece.code, "job": piece.busy_on},
            _("Wait until it is disconnected there, or take another piece."),
            COMMON_PRACTICE,
            piece,
        )


def _refrigerant_matches(request: ClearanceRequest, piece: PieceFacts) -> Iterator[Reason]:
    gas = request.circuit.refrigerant
    if gas is Refrigerant.UNKNOWN:
        return
    if piece.refrigerant and piece.refrigerant != gas:
        yield refuse(
            "wrong_refrigerant",
            _("%(piece)s is for %(piece_gas)s, the circuit holds %(gas)s.")
            % {"piece": piece.code, "piece_gas": Refrigerant(piece.refrigerant).label, "gas": gas.label},
            _("Take a piece labelled for %(gas)s. Fittings that match are not proof.") % {"gas": gas.label},
            "SAE J639: unique fittings and label per refrigerant",
            piece,
        )
    foreign = piece.residue.refrigerants - {gas.value}
    # What is taken out for good into a marked cylinder may meet the rest of another gas on its way.
    if foreign and not piece.refrigerant and not request.is_contaminated_recovery:
        yield refuse(
            "refrigerant_residue",
            _("%(piece)s last carried %(gases)s.") % {"piece": piece.code, "gases": _gases(foreign)},
            _("Run a line purge of it with %(gas)s.") % {"gas": gas.label},
            COMMON_PRACTICE,
            piece,
        )


def _gases(refrigerants: Iterable[str]) -> str:
    return ", ".join(sorted(str(Refrigerant(refrigerant).label) for refrigerant in refrigerants))


def _other_oil(request: ClearanceRequest, piece: PieceFacts) -> Iterator[Reason]:
    if piece.kind is PieceKind.INJECTOR:
        return
    own = {request.circuit.lubricant.value}
    others = [
        lubricant
        for lubricant in piece.residue.lubricants - own
        if not request.is_high_voltage or Lubricant(lubricant).may_enter_high_voltage
    ]
    if others:
        yield warn(
            "other_oil_residue",
            _("%(piece)s holds residue of %(oils)s, not the oil of this circuit.")
            % {"piece": piece.code, "oils": words(others)},
            _("Run a line purge of it first if you can."),
            COMMON_PRACTICE,
            piece,
        )


def _unclear_residue(request: ClearanceRequest, piece: PieceFacts) -> Iterator[Reason]:
    if request.is_high_voltage:
        return  # there it refuses, see high_voltage_rules
    if piece.residue.unknown:
        yield warn(
            "unknown_residue",
            _("Nobody knows what %(piece)s last touched.") % {"piece": piece.code},
            _("Run a line purge of it first if you can."),
            COMMON_PRACTICE,
            piece,
        )
    if Additive.SEALER in piece.residue.additives:
        yield warn(
            "sealer_residue",
            _("%(piece)s was in contact with leak sealer, which hardens inside.") % {"piece": piece.code},
            _("Have it inspected before further use."),
            COMMON_PRACTICE,
            piece,
        )


def _injector(request: ClearanceRequest, piece: PieceFacts) -> Iterator[Reason]:
    if piece.kind is not PieceKind.INJECTOR:
        return
    if request.circuit.lubricant is not Lubricant.UNKNOWN and piece.lubricant != request.circuit.lubricant:
        yield refuse(
            "injector_wrong_oil",
            _("%(piece)s is labelled for %(label)s oil, the circuit needs %(oil)s.")
            % {
                "piece": piece.code,
                "label": Lubricant(piece.lubricant).label,
                "oil": request.circuit.lubricant.label,
            },
            _("Take the injector labelled for this refrigerant and this oil."),
            COMMON_PRACTICE,
            piece,
        )
    foreign = piece.residue.lubricants - {piece.lubricant}
    if foreign and not request.is_high_voltage:
        yield refuse(
            "injector_foreign_oil",
            _("%(piece)s has held %(oils)s beside its labelled oil.")
            % {"piece": piece.code, "oils": words(foreign)},
            _("Put it out of service."),
            COMMON_PRACTICE,
            piece,
        )


def _dedication(request: ClearanceRequest, piece: PieceFacts) -> Iterator[Reason]:
    if not piece.dedicated_to:
        return
    touched = {request.circuit.lubricant.value} | request.circuit.suspected_lubricants
    if touched <= {piece.dedicated_to}:
        return
    yield refuse(
        "dedicated",
        _("%(piece)s may only ever touch %(oil)s circuits and would lose its dedication here.")
        % {"piece": piece.code, "oil": Lubricant(piece.dedicated_to).label},
        _("Take a piece that is not dedicated."),
        SHOP_POLICY,
        piece,
    )


PIECE_RULES: tuple[Callable[[ClearanceRequest, PieceFacts], Iterator[Reason]], ...] = (
    _connectable,
    _in_service,
    _not_busy,
    _refrigerant_matches,
    _other_oil,
    _unclear_residue,
    _injector,
    _dedication,
)
