"""Inventory: whether a weighed stock disagrees with the books by more than the scales explain."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from shopcool.engineering.limits import within
from shopcool.engineering.results import Notice

METHOD_VERSION = "inventory 1"
SOURCE = (
    "Propagation of uncertainty with rectangular distributions (GUM, JCGM 100:2008, 4.3.7), coverage factor 2"
)
COVERAGE = 2.0
LARGEST_MASS_KG = 1e5
LARGEST_ACCURACY_KG = 100.0


@dataclass(frozen=True)
class Movement:
    """One weighed movement [kg], positive into the stock, on the stock's scale or on another."""

    mass_kg: float
    other_scale: bool = False


class Verdict(StrEnum):
    """Whether the difference means anything."""

    AGREES = "agrees"
    SHORT = "short"
    SURPLUS = "surplus"


SENTENCES = {
    Verdict.AGREES: "The difference is within what the scales explain: it means nothing.",
    Verdict.SHORT: "Less is there than the books and the scales explain.",
    Verdict.SURPLUS: "More is there than the books and the scales explain.",
}


@dataclass(frozen=True)
class Inventory:
    """The books against the scale: expected and measured [kg], difference [kg], expanded uncertainty [kg]."""

    opening_kg: float
    measured_kg: float
    movements: tuple[Movement, ...]
    scale_accuracy_kg: float
    scale_resolution_kg: float
    gain_error: float
    expected_kg: float
    difference_kg: float
    uncertainty_kg: float
    verdict: Verdict
    sentence: str
    warnings: tuple[Notice, ...]
    source: str = SOURCE
    method_version: str = METHOD_VERSION


DRIFT = Notice(
    "drift", "Drift of the tare or the scale is not covered: weigh a check weight before trusting the result."
)


def inventory(
    opening_kg: float,
    measured_kg: float,
    movements: Sequence[Movement],
    *,
    scale_accuracy_kg: float,
    scale_resolution_kg: float,
    gain_error: float = 0.0,
) -> Inventory:
    """Compare a weighed stock with opening stock and movements.

    Parameters:
        opening_kg: opening stock, weighed [kg].
        measured_kg: closing stock, weighed [kg].
        movements: movements, each weighed.
        scale_accuracy_kg: half width of one weighing [kg].
        scale_resolution_kg: smallest step of the scale [kg].
        gain_error: largest relative difference to another scale [-]; cancels on the same scale.

    Returns: expected stock, difference and its expanded uncertainty [kg], verdict.

    Raises ``not_a_number``, ``mass``, ``scale``, ``gain``.

    Source: GUM, JCGM 100:2008, 4.3.7, coverage factor 2.
    """
    _check(opening_kg, measured_kg, movements, scale_accuracy_kg, scale_resolution_kg, gain_error)
    expected = opening_kg + math.fsum(movement.mass_kg for movement in movements)
    difference = measured_kg - expected
    spread = COVERAGE * _standard(movements, scale_accuracy_kg, scale_resolution_kg, gain_error)
    verdict = Verdict.AGREES
    if abs(difference) > spread:
        verdict = Verdict.SHORT if difference < 0 else Verdict.SURPLUS
    return Inventory(
        opening_kg=opening_kg,
        measured_kg=measured_kg,
        movements=tuple(movements),
        scale_accuracy_kg=scale_accuracy_kg,
        scale_resolution_kg=scale_resolution_kg,
        gain_error=gain_error,
        expected_kg=expected,
        difference_kg=difference,
        uncertainty_kg=spread,
        verdict=verdict,
        sentence=SENTENCES[verdict],
        warnings=(DRIFT,),
    )


def _standard(movements: Sequence[Movement], accuracy: float, resolution: float, gain: float) -> float:
    weighings = len(movements) + 2  # the opening and the closing stock are weighed too
    elsewhere = math.fsum(abs(movement.mass_kg) for movement in movements if movement.other_scale)
    independent = weighings * (accuracy**2 / 3 + resolution**2 / 12)
    return math.sqrt(independent + (gain / math.sqrt(3) * elsewhere) ** 2)


def _check(
    opening: float,
    measured: float,
    movements: Sequence[Movement],
    accuracy: float,
    resolution: float,
    gain: float,
) -> None:
    masses = [("opening_kg", opening, 0.0), ("measured_kg", measured, 0.0)]
    masses += [("movements", movement.mass_kg, -LARGEST_MASS_KG) for movement in movements]
    for field, mass, low in masses:
        within(
            mass,
            low,
            LARGEST_MASS_KG,
            name="A mass",
            field=field,
            code="mass",
            message="A stock must be between 0 and 100 000 kg, a movement no larger.",
        )
    for field, value in (("scale_accuracy_kg", accuracy), ("scale_resolution_kg", resolution)):
        within(
            value,
            0,
            LARGEST_ACCURACY_KG,
            name="The accuracy or step of the scale",
            field=field,
            code="scale",
            message="Accuracy and step of the scale must be between 0 and 100 kg.",
        )
    within(
        gain,
        0,
        0.5,
        name="The gain error",
        field="gain_error",
        code="gain",
        message="The gain error must be between 0 and 50 %.",
    )
