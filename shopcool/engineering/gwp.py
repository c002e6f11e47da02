"""Global warming potential by edition, and the CO2 equivalent of a mass of refrigerant."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from shopcool.engineering.errors import Refusal
from shopcool.engineering.fluids import Fluid
from shopcool.engineering.limits import within

METHOD_VERSION = "gwp 1"
LARGEST_MASS_KG = 1e6


class Edition(StrEnum):
    """The assessment report that a value comes from; each record stores the one it was made with."""

    AR4 = "AR4"
    AR5 = "AR5"
    AR6 = "AR6"


#: Year in which each report came out, as the sources below cite it.
PUBLISHED = {Edition.AR4: 2007, Edition.AR5: 2014, Edition.AR6: 2021}


@dataclass(frozen=True)
class Potential:
    """One row: 100-year potential [kg CO2 per kg], with its source."""

    fluid: Fluid
    edition: Edition
    value: float
    source: str


_PART_98 = "40 CFR 98 Table A-1, 2014 values from the Fourth Assessment Report"
_LIBRARY = "table of the chemicals library, from the assessment report"
_MEMORY = "from memory; confirm before it decides anything"

POTENTIALS = (
    Potential(Fluid.R134A, Edition.AR4, 1430.0, _PART_98),
    Potential(Fluid.R134A, Edition.AR5, 1300.0, _LIBRARY),
    Potential(Fluid.R134A, Edition.AR6, 1530.0, _LIBRARY),
    Potential(Fluid.R1234YF, Edition.AR4, 4.0, "value of older rules, not in the report itself; " + _MEMORY),
    Potential(Fluid.R1234YF, Edition.AR5, 0.351, _LIBRARY),
    Potential(Fluid.R1234YF, Edition.AR6, 0.501, "Regulation (EU) 2024/573 Annex II"),
    Potential(Fluid.R152A, Edition.AR4, 124.0, _PART_98),
    Potential(Fluid.R152A, Edition.AR5, 138.0, _LIBRARY),
    Potential(Fluid.R152A, Edition.AR6, 164.0, _LIBRARY),
    Potential(Fluid.R12, Edition.AR4, 10_900.0, "Fourth Assessment Report, technical summary, table TS.2"),
    Potential(Fluid.R12, Edition.AR5, 10_200.0, _LIBRARY),
    Potential(Fluid.R12, Edition.AR6, 12_500.0, _LIBRARY),
    Potential(Fluid.R744, Edition.AR4, 1.0, "reference gas, by definition"),
    Potential(Fluid.R744, Edition.AR5, 1.0, "reference gas, by definition"),
    Potential(Fluid.R744, Edition.AR6, 1.0, "reference gas, by definition"),
)
_BY_KEY = {(row.fluid, row.edition): row for row in POTENTIALS}


@dataclass(frozen=True)
class Equivalent:
    """The CO2 equivalent [kg] of a mass [kg] with the row that it rests on."""

    mass_kg: float
    potential: Potential
    co2_kg: float
    method_version: str = METHOD_VERSION

    @property
    def source(self) -> str:
        """Where the potential comes from."""
        return self.potential.source


def potential(fluid: Fluid, edition: Edition) -> Potential:
    """Return the row of a fluid in an edition.

    Raises :class:`Refusal` with ``no_potential`` when the table has none.
    """
    try:
        return _BY_KEY[fluid, edition]
    except KeyError:
        raise Refusal(
            "no_potential", f"No global warming potential is on file for {fluid} in {edition}.", field="fluid"
        ) from None


def latest_edition(day: date) -> Edition:
    """Return the newest edition that had been out since the year before a day.

    A rule may prescribe an older one: a record stores the edition it was made with.

    Raises :class:`Refusal` with ``too_early`` before the first edition on file.
    """
    out = [edition for edition, published in PUBLISHED.items() if published < day.year]
    if not out:
        raise Refusal("too_early", "No edition on file was out on that day.", field="day")
    return out[-1]


def co2_equivalent(mass_kg: float, fluid: Fluid, edition: Edition) -> Equivalent:
    """Return the CO2 equivalent of a mass of refrigerant in an edition.

    Parameters:
        mass_kg: mass [kg].
        fluid: the refrigerant.
        edition: assessment report; a record stores the one it was made with.

    Returns: CO2 equivalent [kg] with the row of the table.

    Raises ``not_a_number``, ``mass``, ``no_potential``.

    Source: the row's own.
    """
    within(
        mass_kg,
        0,
        LARGEST_MASS_KG,
        name="The mass",
        field="mass_kg",
        code="mass",
        message="The mass must be between 0 and 1 000 000 kg.",
    )
    row = potential(fluid, edition)
    return Equivalent(mass_kg, row, mass_kg * row.value)
