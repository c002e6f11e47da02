"""What a piece's exposures leave behind: a pure fold, no clock, no database, no settings.

Contamination is a set union until a verified line purge of a loop that contains the piece, so the order of
entries rarely matters and a late entry is simply folded in at its time.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import datetime

from equipment.choices import ExposureKind
from shopcool.vehicles.choices import Additive, Lubricant

NOTHING: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Residue:
    """What may still be inside a piece.

    ``unknown`` means that something nobody can name may be inside: a new, borrowed or returned piece.
    ``sealer`` is among the additives; it hardens and no purge removes it.
    """

    lubricants: frozenset[str] = NOTHING
    refrigerants: frozenset[str] = NOTHING
    additives: frozenset[str] = NOTHING
    unknown: bool = False

    def joined(self, other: Residue) -> Residue:
        """Return the union of two residues."""
        return Residue(
            lubricants=self.lubricants | other.lubricants,
            refrigerants=self.refrigerants | other.refrigerants,
            additives=self.additives | other.additives,
            unknown=self.unknown or other.unknown,
        )

    @property
    def blocks_high_voltage(self) -> bool:
        """Whether a trace of it must not reach high-voltage windings: conductive, unknown, dye or sealer."""
        return (
            self.unknown
            or bool(self.additives)
            or any(not Lubricant(lubricant).may_enter_high_voltage for lubricant in self.lubricants)
        )


@dataclass(frozen=True)
class ExposureEvent:
    """One exposure as the fold sees it.

    ``sequence`` breaks ties between entries of the same moment; ``corrects`` names the sequence of an
    earlier entry that never happened as written; ``verified`` says that a purge met its method.
    """

    kind: ExposureKind
    occurred_at: datetime
    sequence: int
    residue: Residue = field(default_factory=Residue)
    verified: bool = False
    corrects: int | None = None
    reason: str = ""


@dataclass(frozen=True)
class Condition:
    """What is known about a piece after its exposures."""

    residue: Residue = field(default_factory=lambda: Residue(unknown=True))
    in_service: bool = True
    out_of_service_reason: str = ""
    last_contact_at: datetime | None = None
    last_purge_at: datetime | None = None


BEFORE_ANYTHING = Condition()


def standing(events: Iterable[ExposureEvent]) -> list[ExposureEvent]:
    """Return the events that still stand, in the order in which they happened."""
    listed = list(events)
    withdrawn = {event.corrects for event in listed if event.corrects is not None}
    kept = [event for event in listed if event.sequence not in withdrawn]
    return sorted(kept, key=lambda event: (event.occurred_at, event.sequence))


def fold(events: Iterable[ExposureEvent]) -> Condition:
    """Return the condition of a piece after all its exposures, whatever order they were recorded in."""
    condition = BEFORE_ANYTHING
    for event in standing(events):
        condition = evolve(condition, event)
    return condition


def evolve(condition: Condition, event: ExposureEvent) -> Condition:
    """Return the condition after one more exposure."""
    return _EVOLVE[event.kind](condition, event)


def after_purge(residue: Residue, cleared_with: Residue) -> Residue:
    """Return what is left after a verified purge: the purge's own gas, and sealer, which stays."""
    return Residue(
        refrigerants=cleared_with.refrigerants,
        additives=residue.additives & {Additive.SEALER.value},
    )


def _touched(condition: Condition, event: ExposureEvent) -> Condition:
    return replace(
        condition,
        residue=condition.residue.joined(event.residue),
        last_contact_at=event.occurred_at,
    )


def _purged(condition: Condition, event: ExposureEvent) -> Condition:
    if not event.verified:
        return replace(condition, residue=condition.residue.joined(event.residue))
    return replace(
        condition,
        residue=after_purge(condition.residue, event.residue),
        last_purge_at=event.occurred_at,
    )


def _unknown(condition: Condition, event: ExposureEvent) -> Condition:
    return replace(condition, residue=replace(condition.residue, unknown=True))


def _inspected(condition: Condition, event: ExposureEvent) -> Condition:
    return replace(condition, residue=event.residue)


def _out_of_service(condition: Condition, event: ExposureEvent) -> Condition:
    return replace(condition, in_service=False, out_of_service_reason=event.reason)


def _returned(condition: Condition, event: ExposureEvent) -> Condition:
    return replace(condition, in_service=True, out_of_service_reason="")


def _unchanged(condition: Condition, event: ExposureEvent) -> Condition:
    return condition


_EVOLVE = {
    ExposureKind.REGISTERED: _unknown,
    ExposureKind.CONNECTED: _touched,
    ExposureKind.DISCONNECTED: _unchanged,
    ExposureKind.CONTACT_DECLARED: _touched,
    ExposureKind.PURGED: _purged,
    ExposureKind.PUMP_OIL_SUSPECTED: _unknown,
    ExposureKind.RESIDUE_UNKNOWN: _unknown,
    ExposureKind.INSPECTED: _inspected,
    ExposureKind.FILLED: _touched,
    ExposureKind.OUT_OF_SERVICE: _out_of_service,
    ExposureKind.RETURNED: _returned,
    ExposureKind.VOIDED: _unchanged,
}
