"""What a lot of oil is and whether it may still be dispensed: pure rules."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

#: Limits of what is typed: drum size [m³], density of refrigeration oils [kg/m³].
LARGEST_CONTAINER_M3 = 0.25
SMALLEST_DENSITY, LARGEST_DENSITY = 700.0, 1300.0

#: Millilitres as typed and as booked agree within this [m³].
ROUNDING_M3 = 1e-9


class LotState(StrEnum):
    """Whether a lot may be dispensed, the gravest first."""

    BAD = "BAD"
    TEST_AGAINST = "TEST_AGAINST"
    EMPTY = "EMPTY"
    OPEN_TOO_LONG = "OPEN_TOO_LONG"
    LOW = "LOW"
    OPEN = "OPEN"
    SEALED = "SEALED"

    @property
    def may_be_dispensed(self) -> bool:
        """Whether oil of the lot may go into an injector or a vehicle."""
        return self in {LotState.LOW, LotState.OPEN, LotState.SEALED}


@dataclass(frozen=True)
class LotFacts:
    """What decides about a lot; volumes [m³], ``days_open`` None while sealed, ``limit_days`` if any."""

    volume_m3: float
    is_bad: bool = False
    test_against: bool = False
    days_open: int | None = None
    limit_days: int | None = None
    low_m3: float | None = None


def lot_state(lot: LotFacts) -> LotState:
    """Return the state of a lot. The day on which the limit falls still counts."""
    if lot.is_bad:
        return LotState.BAD
    if lot.test_against:
        return LotState.TEST_AGAINST
    if lot.volume_m3 <= 0:
        return LotState.EMPTY
    if lot.days_open is not None and lot.limit_days is not None and lot.days_open > lot.limit_days:
        return LotState.OPEN_TOO_LONG
    if is_low(lot.volume_m3, lot.low_m3):
        return LotState.LOW
    return LotState.SEALED if lot.days_open is None else LotState.OPEN


def is_low(volume_m3: float, low_m3: float | None) -> bool:
    """Whether no more than the low-stock level is left; without a level nothing is ever low."""
    return low_m3 is not None and volume_m3 <= low_m3 + ROUNDING_M3


def grade_key(grade: str) -> str:
    """Return a grade as it is compared: capitals and spaces do not make another oil."""
    return "".join(grade.split()).casefold()


def same_grade(one: str, other: str) -> bool:
    """Whether two labels name the same grade; a missing grade is the same as nothing."""
    return bool(grade_key(one)) and grade_key(one) == grade_key(other)
