"""Whether a check was passed: a scale against a reference mass, as found and as left. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from equipment.maintenance.choices import WorkOutcome
from equipment.maintenance.rules import CHARGE_TOLERANCE_KG
from shopcool.core.figures import Figure, figures_in
from shopcool.core.unit_choices import MassUnit
from shopcool.engineering.quantities import Kind
from shopcool.shop.units import Units

#: Readings that differ from the limit by less than this only differ by how they were typed [kg].
TYPED_KG = 1e-9
TENTH_KG = 1e-4


@dataclass(frozen=True)
class ScaleReadings:
    """What a scale showed under a reference mass [kg]; ``after`` is None when nothing was adjusted."""

    reference_kg: float
    before_kg: float
    after_kg: float | None = None

    @property
    def left_kg(self) -> float:
        """What it shows now."""
        return self.before_kg if self.after_kg is None else self.after_kg


@dataclass(frozen=True)
class Judgement:
    """The outcome of a check with the sentences that explain it, and what their figures mean."""

    outcome: WorkOutcome
    findings: tuple[str, ...] = ()
    figures: tuple[Figure, ...] = ()

    def as_record(self) -> list[dict[str, Any]]:
        """Return the sentences as JSON carries them, each with its figures."""
        return [
            {"sentence": one, "figures": [figure.as_record() for figure in figures_in(self.figures, [one])]}
            for one in self.findings
        ]


def findings_told(stored: Iterable[str | dict[str, Any]], units: Units) -> list[str]:
    """Return sentences on record with their figures in the reader's units; the oldest are mere sentences."""
    return [
        one
        if isinstance(one, str)
        else units.retold(one["sentence"], [Figure.from_record(item) for item in one["figures"]])
        for one in stored
    ]


def judge_scale(readings: ScaleReadings, tolerance_kg: float, units: Units) -> Judgement:
    """Return whether the scale, as it was left, is within its tolerance; sentences in the reader's units."""
    units = units.listening()
    outcome, sentence = _judged_scale(readings, tolerance_kg, units)
    return Judgement(outcome, (sentence,), tuple(units.told or ()))


def _judged_scale(readings: ScaleReadings, tolerance_kg: float, units: Units) -> tuple[WorkOutcome, str]:
    off = _off(readings.left_kg, readings)
    if abs(off) > tolerance_kg + TYPED_KG:
        sentence = _("It shows %(off)s %(way)s than the reference mass; ±%(tolerance)s is allowed.")
        return WorkOutcome.FAILED, sentence % _words(off, tolerance_kg, units)
    found_off = _off(readings.before_kg, readings)
    if abs(found_off) > tolerance_kg + TYPED_KG:
        sentence = _(
            "Before the adjustment it showed %(off)s %(way)s than the reference mass: weighings since the "
            "last check may be wrong by that much."
        )
        return WorkOutcome.PASSED, sentence % _words(found_off, tolerance_kg, units)
    sentence = _("It is within ±%(tolerance)s of the reference mass.")
    return WorkOutcome.PASSED, sentence % _words(found_off, tolerance_kg, units)


def tolerance_of(plan_kg: float | None, piece_kg: float | None) -> float:
    """Return how far a scale may be off [kg]: by its plan, by its machine, else by SAE J2788."""
    return plan_kg or piece_kg or CHARGE_TOLERANCE_KG


def _off(reading_kg: float, readings: ScaleReadings) -> float:
    return reading_kg - readings.reference_kg


def _words(off: float, tolerance_kg: float, units: Units) -> dict[str, str]:
    way = _("more") if off > 0 else _("less")
    return {"off": _mass(abs(off), units), "way": way, "tolerance": _mass(tolerance_kg, units)}


def _mass(mass_kg: float, units: Units) -> str:
    """Return a mass with tenths of a gram where it has any: 15.4 g is more than the 15 g that are allowed."""
    has_tenths = units.mass == MassUnit.GRAM and abs(round(mass_kg, 3) - mass_kg) >= TENTH_KG / 2
    return units.shown(mass_kg, Kind.MASS, digits=1 if has_tenths else None)
