"""Vehicle identification numbers: the check digit warns, it never rejects a vehicle.

The check digit is a duty in the United States and Canada only (49 CFR 565.15(c)); elsewhere ISO 3779 leaves
position 9 free. A number of a vehicle built before 1981 may be shorter and follows no rule.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from shopcool.engineering.errors import Refusal
from shopcool.engineering.results import Notice

SOURCE = "49 CFR 565.15(c), tables III to VII"
VIN_LENGTH = 17
SHORTEST_OLD_NUMBER = 5
_LONGEST_TEXT = 40
_WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)
_LETTER_VALUES = dict(
    zip("ABCDEFGHJKLMNPRSTUVWXYZ", (1, 2, 3, 4, 5, 6, 7, 8, 1, 2, 3, 4, 5, 7, 9, *range(2, 10)), strict=True)
)
_VALUES = _LETTER_VALUES | {str(digit): digit for digit in range(10)}
_UNUSED_LETTERS = str.maketrans({"O": "0", "I": "1", "Q": "0"})
_CHECK_DIGITS = "0123456789X"
_EUROPE = "STUVWXYZ"
_NORTH_AMERICA = "12345"
_YEAR_CODES = "ABCDEFGHJKLMNPRSTVWXY123456789"
_FIRST_YEAR = 1980
_YEAR_CYCLE = 30


class Verdict(StrEnum):
    """What the check found."""

    VALID = "valid"
    CHECK_DIGIT_DIFFERS = "check_digit_differs"
    CHECK_DIGIT_NOT_USED = "check_digit_not_used"
    REPEATED = "repeated"
    UNUSED_LETTERS = "unused_letters"
    OLD_NUMBER = "old_number"


@dataclass(frozen=True)
class VinResult:
    """A checked number; ``accepted`` is false only where the suggestion must be answered first."""

    vin: str
    typed: str
    verdict: Verdict
    notices: tuple[Notice, ...]
    suggestion: str = ""
    model_years: tuple[int, ...] = ()
    source: str = SOURCE

    @property
    def accepted(self) -> bool:
        """Return whether the number may be stored as it stands."""
        return self.verdict is not Verdict.UNUSED_LETTERS


def normalise_vin(text: str) -> str:
    """Return the number in capitals without spaces, hyphens and marks of the keyboard."""
    return "".join(
        character for character in text.upper() if not character.isspace() and character not in "-–*"
    )


def check_digit(vin: str) -> str:
    """Return the character that position 9 must have (49 CFR 565.15(c)); needs 17 permitted characters."""
    remainder = sum(weight * _VALUES[character] for weight, character in zip(_WEIGHTS, vin, strict=True)) % 11
    return _CHECK_DIGITS[remainder]


def check_vin(text: str, *, reason: str = "") -> VinResult:
    """Check a vehicle identification number.

    Parameters:
        text: as typed; small letters, spaces and hyphens are removed.
        reason: why a number of 5 to 16 characters is right (a vehicle built before 1981).

    Returns: the number with verdict, notices and, for the letters I, O and Q, a suggestion.

    Raises ``too_long``, ``too_short``, ``reason_needed``, ``characters``.

    Source: 49 CFR 565.15(c); model years table VII (30-year cycle, position 7 of cars and light trucks).
    """
    if len(text) > _LONGEST_TEXT:
        raise Refusal(
            "too_long",
            "This text is too long for a vehicle identification number (17 characters).",
            field="vin",
        )
    vin = normalise_vin(text)
    _check_length_and_characters(vin, reason)
    if len(vin) < VIN_LENGTH:
        notice = Notice("old_number", f"Shorter than 17 characters, accepted because: {reason.strip()}")
        return VinResult(vin, text, Verdict.OLD_NUMBER, (notice,))
    if any(letter in vin for letter in "IOQ"):
        suggestion = vin.translate(_UNUSED_LETTERS)
        notice = Notice(
            "unused_letters",
            f"The letters I, O and Q are not used. Is it {suggestion}? Look at the plate again.",
        )
        return VinResult(vin, text, Verdict.UNUSED_LETTERS, (notice,), suggestion)
    return _judged(vin, text)


def _check_length_and_characters(vin: str, reason: str) -> None:
    if len(vin) > VIN_LENGTH:
        raise Refusal(
            "too_long", f"{len(vin)} characters: a vehicle identification number has 17.", field="vin"
        )
    if not (vin.isascii() and vin.isalnum()) and vin:
        raise Refusal(
            "characters", "A vehicle identification number has only letters A to Z and digits.", field="vin"
        )
    if len(vin) < SHORTEST_OLD_NUMBER:
        raise Refusal(
            "too_short", f"{len(vin)} characters: a vehicle identification number has 17.", field="vin"
        )
    if len(vin) < VIN_LENGTH and not reason.strip():
        raise Refusal(
            "reason_needed",
            f"{len(vin)} characters instead of 17: write why (a vehicle built before 1981), "
            "or check the number.",
            field="reason",
        )


def _judged(vin: str, typed: str) -> VinResult:
    """Judge seventeen permitted characters."""
    if len(set(vin)) == 1:
        return _noted(
            vin, typed, Verdict.REPEATED, "Seventeen equal characters are hardly a vehicle: check it."
        )
    if vin[8] == check_digit(vin):
        return VinResult(vin, typed, Verdict.VALID, (), model_years=_model_years(vin, narrowed=True))
    if (
        vin[3:6] == "ZZZ"
        or vin[0] in _EUROPE
        or (vin[8] not in _CHECK_DIGITS and vin[0] not in _NORTH_AMERICA)
    ):
        return _noted(
            vin,
            typed,
            Verdict.CHECK_DIGIT_NOT_USED,
            "Position 9 is not a check digit in this number (not built for North America): read it twice.",
        )
    return _noted(
        vin,
        typed,
        Verdict.CHECK_DIGIT_DIFFERS,
        f"Position 9 should be {check_digit(vin)}, not {vin[8]}, if it was built for North America: "
        "read the plate again.",
    )


def _noted(vin: str, typed: str, verdict: Verdict, message: str) -> VinResult:
    years = _model_years(vin, narrowed=False) if verdict is Verdict.CHECK_DIGIT_DIFFERS else ()
    return VinResult(vin, typed, verdict, (Notice(verdict.value, message),), model_years=years)


def _model_years(vin: str, *, narrowed: bool) -> tuple[int, ...]:
    """Return the years that position 10 may mean; narrowed by position 7, which tells the 30-year cycle."""
    if vin[9] not in _YEAR_CODES:
        return ()
    first = _FIRST_YEAR + _YEAR_CODES.index(vin[9])
    years = (first, first + _YEAR_CYCLE)
    if not narrowed:
        return years
    return years[1:] if vin[6].isalpha() else years[:1]
