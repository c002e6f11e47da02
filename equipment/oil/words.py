"""Amounts of oil in words: millilitres and grams side by side, days, states."""

from __future__ import annotations

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from equipment.oil.grades import LotState
from shopcool.engineering.quantities import Kind, format_quantity
from shopcool.shop.units import Units
from shopcool.vehicles.choices import Lubricant

Words = str | Promise

#: Below this its grams are shown with a decimal [m³].
SMALL_M3 = 10e-6

STATE_WORDS: dict[LotState, tuple[Words, str]] = {
    LotState.BAD: (_("Found bad"), "refusal"),
    LotState.TEST_AGAINST: (_("Vial test against it"), "refusal"),
    LotState.EMPTY: (_("Empty"), "unknown"),
    LotState.OPEN_TOO_LONG: (_("Open for too long"), "refusal"),
    LotState.LOW: (_("Running low"), "warning"),
    LotState.OPEN: (_("Open"), "good"),
    LotState.SEALED: (_("Sealed"), "good"),
}


def amount_words(volume_m3: float, mass_kg: float | None = None, *, units: Units) -> str:
    """Return an amount in the reader's volume, with its grams where the mass is known.

    Grams for everybody: beside fluid ounces, ounces of weight would be taken for the same thing.
    """
    volume, digits = units.shown(volume_m3, Kind.VOLUME), 1 if 0 < volume_m3 < SMALL_M3 else 0
    if mass_kg is None:
        return volume
    return f"{volume} = {format_quantity(mass_kg, Kind.MASS, 'g', digits=digits)}"


def oil_words(oil: Lubricant, grade: str) -> str:
    """Return class and grade once each, whether or not the grade repeats the class."""
    return grade if str(oil.label).upper() in grade.upper() else f"{oil.label} {grade}".strip()
