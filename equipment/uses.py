"""What a piece can be used for now, and what would change that: pure, asked by the readiness board.

The board does not know the vehicle yet, so it asks the clearance rules about a typical circuit of each kind
with the gas and the oil that the piece is set up for. The clearance of a real vehicle has the last word.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum

from equipment.exposure import Residue, after_purge
from equipment.instruments import reasons
from equipment.readiness import CircuitFacts, Decision, PieceFacts, piece_decision
from shopcool.vehicles.choices import Drive, Lubricant, Refrigerant

#: What compressors on a belt usually run with (common practice).
BELT_OILS = frozenset({Lubricant.PAG, Lubricant.PAO, Lubricant.MINERAL})


class Use(StrEnum):
    """Where a piece stands on the board."""

    HIGH_VOLTAGE = "HIGH_VOLTAGE"
    BELT = "BELT"
    AFTER_PURGE = "AFTER_PURGE"
    NOT_NOW = "NOT_NOW"
    OFF_VEHICLES = "OFF_VEHICLES"


@dataclass(frozen=True)
class Prospect:
    """What a piece can be used for now, the decisions behind it, and what a line purge would add."""

    use: Use
    high_voltage: Decision
    belt: Decision
    purge_opens: frozenset[Use]

    @property
    def nearest(self) -> Decision:
        """The decision that least stands against: its refusals say what is missing."""
        return min((self.belt, self.high_voltage), key=lambda decision: len(decision.refusals))


def prospect(piece: PieceFacts, today: date) -> Prospect:
    """Return what a piece can be used for today.

    What stays off vehicles, like a cylinder, only has service, upkeep and papers to stand against it.
    """
    if not piece.kind.connects_to_vehicles:
        against = Decision(reasons(piece, today))
        return Prospect(Use.NOT_NOW if against.refusals else Use.OFF_VEHICLES, against, against, frozenset())
    high_voltage = piece_decision(typical_circuit(piece, Drive.ELECTRIC_HV), piece, today)
    belt = piece_decision(typical_circuit(piece, Drive.BELT), piece, today)
    opens = _purge_opens(piece, today)
    return Prospect(_use(high_voltage, belt, opens), high_voltage, belt, opens)


def purge_clears_for(circuit: CircuitFacts, piece: PieceFacts, today: date) -> bool:
    """Whether nothing would stand against the piece on the circuit once a line purge has cleared it."""
    if not piece.kind.can_be_purged:
        return False
    return piece_decision(circuit, purged(piece, circuit.refrigerant), today).permitted


def purged(piece: PieceFacts, gas: Refrigerant) -> PieceFacts:
    """Return the piece as a verified line purge with this gas would leave it."""
    left = after_purge(piece.residue, Residue(refrigerants=frozenset({gas.value})))
    return replace(piece, residue=left)


def typical_circuit(piece: PieceFacts, drive: Drive) -> CircuitFacts:
    """Return a circuit of the kind of vehicle that the piece would be taken to."""
    usual = Lubricant.PAG if drive is Drive.BELT else Lubricant.POE
    fixed = Lubricant(piece.lubricant or piece.dedicated_to or usual)
    fits = fixed in BELT_OILS if drive is Drive.BELT else fixed.may_enter_high_voltage
    return CircuitFacts(name="", refrigerant=gas_of(piece), lubricant=fixed if fits else usual, drive=drive)


def gas_of(piece: PieceFacts) -> Refrigerant:
    """Return the gas a piece is set up for: its label, else what it last carried, else R-1234yf."""
    carried = sorted(piece.residue.refrigerants)
    return Refrigerant(piece.refrigerant or (carried[0] if carried else Refrigerant.R1234YF))


def _purge_opens(piece: PieceFacts, today: date) -> frozenset[Use]:
    if not piece.kind.can_be_purged:
        return frozenset()
    cleared = purged(piece, gas_of(piece))
    drives = {Use.HIGH_VOLTAGE: Drive.ELECTRIC_HV, Use.BELT: Drive.BELT}
    return frozenset(
        use
        for use, drive in drives.items()
        if not piece_decision(typical_circuit(cleared, drive), cleared, today).reasons
    )


def _use(high_voltage: Decision, belt: Decision, opens: frozenset[Use]) -> Use:
    if high_voltage.permitted:
        return Use.HIGH_VOLTAGE
    if belt.permitted and not belt.warnings:
        return Use.BELT
    if opens:
        return Use.AFTER_PURGE
    return Use.BELT if belt.permitted else Use.NOT_NOW
