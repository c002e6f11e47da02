"""Whether a check was passed: a scale against a reference mass, as found and as left. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.translation import gettext as _

from equipment.maintenance.choices import WorkOutcome
from equipment.maintenance.rules import CHARGE_TOLERANCE_KG
from shopcool.engineering.quantities import Kind, format_quantity

#: Readings that differ from the limit by less than this only differ by how they were typed [kg].
TYPED_KG = 1e-9


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
    """The outcome of a check with the sentences that explain it."""

    outcome: WorkOutcome
    findings: tuple[str, ...] = ()


def judge_scale(readings: ScaleReadings, tolerance_kg: float, unit: str = "g") -> Judgement:
    """Return whether the scale, as it was left, is within its tolerance; sentences in ``unit``."""
    tolerance = format_quantity(tolerance_kg, Kind.MASS, unit)
    off = _off(readings.left_kg, readings)
    if abs(off) > tolerance_kg + TYPED_KG:
        sentence = _("It shows %(off)s %(way)s than the reference mass; ±%(tolerance)s is allowed.")
        return Judgement(WorkOutcome.FAILED, (sentence % _words(off, tolerance, unit),))
    found_off = _off(readings.before_kg, readings)
    if abs(found_off) > tolerance_kg + TYPED_KG:
        sentence = _(
            "Before the adjustment it showed %(off)s %(way)s than the reference mass: weighings since the "
            "last check may be wrong by that much."
        )
        return Judgement(WorkOutcome.PASSED, (sentence % _words(found_off, tolerance, unit),))
    sentence = _("It is within ±%(tolerance)s of the reference mass.")
    return Judgement(WorkOutcome.PASSED, (sentence % {"tolerance": tolerance},))


def tolerance_of(plan_kg: float | None, piece_kg: float | None) -> float:
    """Return how far a scale may be off [kg]: by its plan, by its machine, else by SAE J2788."""
    return plan_kg or piece_kg or CHARGE_TOLERANCE_KG


def _off(reading_kg: float, readings: ScaleReadings) -> float:
    return reading_kg - readings.reference_kg


def _words(off: float, tolerance: str, unit: str) -> dict[str, str]:
    way = _("more") if off > 0 else _("less")
    return {"off": format_quantity(abs(off), Kind.MASS, unit), "way": way, "tolerance": tolerance}
