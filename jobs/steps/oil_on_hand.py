"""What the workshop's books say about the oil at hand: in injectors, on the shelf, in the bottle before."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Protocol


@dataclass(frozen=True)
class HeldOil:
    """What an injector holds by the books [m³, kg]; ``bad_lot`` names a lot found bad that it has held."""

    volume_m3: float
    mass_kg: float
    bad_lot: str = ""


@dataclass(frozen=True)
class LotChoice:
    """A lot that a step may name, with what is left [m³, kg]; ``why_not`` says why it must not be used."""

    id: int
    code: str
    lubricant: str
    grade: str
    volume_m3: float
    mass_kg: float
    why_not: str = ""


class OilOnHand(Protocol):
    """The oil of the workshop, looked up when a rule first asks for it."""

    @property
    def injectors(self) -> Mapping[int, HeldOil]:
        """What each injector of the job holds; one that was never filled is left out."""

    @property
    def lots(self) -> Sequence[LotChoice]:
        """The lots on the shelf."""

    def left_unread(self, machine_id: int) -> str:
        """Return the last other job that recovered with a machine and left its oil bottle unread."""


@dataclass(frozen=True)
class OilFacts:
    """The same, as plain facts."""

    injectors: Mapping[int, HeldOil] = field(default_factory=dict)
    lots: tuple[LotChoice, ...] = ()
    unread: Mapping[int, str] = field(default_factory=dict)

    def left_unread(self, machine_id: int) -> str:
        """Return the job named for a machine."""
        return self.unread.get(machine_id, "")
