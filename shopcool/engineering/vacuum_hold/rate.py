"""From a rise of pressure to grams of refrigerant per year, as a range."""

from __future__ import annotations

import math
from dataclasses import dataclass

from shopcool.engineering import properties
from shopcool.engineering.fluids import Fluid
from shopcool.engineering.limits import check_temperature, within
from shopcool.engineering.quantities import STANDARD_ATMOSPHERE_PA, checked_atmosphere_pa
from shopcool.engineering.results import Notice

METHOD_VERSION = "leak-rate 1"
SOURCE = (
    "Viscous and molecular flow of gases through one leak, vacuum-technology textbook; viscosities from "
    "reference correlations"
)
GAS_CONSTANT = 8.31446261815324
YEAR_S = 365.25 * 86_400.0
SMALLEST_VOLUME_M3, LARGEST_VOLUME_M3 = 1e-4, 0.1
HIGHEST_PRESSURE_PA = 20e6


@dataclass(frozen=True)
class LeakRange:
    """One leak in air and in refrigerant.

    ``air_pa_m3_s`` [Pa·m³/s] enters the evacuated system; ``low_kg_year`` and ``high_kg_year`` [kg/year]
    leave it when it is charged to ``system_pressure_pa``, by the molecular and the viscous law.
    """

    rise_pa_s: float
    volume_m3: float
    refrigerant: Fluid
    temperature_k: float
    system_pressure_pa: float
    atmosphere_pa: float
    air_pa_m3_s: float
    molecular_kg_year: float
    viscous_kg_year: float
    warnings: tuple[Notice, ...]
    source: str = SOURCE
    method_version: str = METHOD_VERSION

    @property
    def low_kg_year(self) -> float:
        """The smaller of the two laws [kg/year]."""
        return min(self.molecular_kg_year, self.viscous_kg_year)

    @property
    def high_kg_year(self) -> float:
        """The larger of the two laws [kg/year]."""
        return max(self.molecular_kg_year, self.viscous_kg_year)


def viscous_ratio(leaking: Fluid, tested: Fluid, temperature_k: float) -> float:
    """Return how much more of one gas passes a viscous leak than of the other at equal pressures.

    At one temperature [K] and one atmosphere.
    """
    numerator = properties.viscosity_pa_s(tested, STANDARD_ATMOSPHERE_PA, temperature_k)
    return numerator / properties.viscosity_pa_s(leaking, STANDARD_ATMOSPHERE_PA, temperature_k)


def molecular_ratio(leaking: Fluid, tested: Fluid) -> float:
    """Return how much more of one gas passes a molecular leak than of the other at equal pressures [-]."""
    return math.sqrt(properties.molar_mass_kg_mol(tested) / properties.molar_mass_kg_mol(leaking))


def mass_rate_kg_year(throughput_pa_m3_s: float, fluid: Fluid, temperature_k: float) -> float:
    """Return the mass [kg/year] that a throughput [Pa·m³/s] at this temperature [K] carries."""
    molar = properties.molar_mass_kg_mol(fluid)
    return throughput_pa_m3_s * molar / (GAS_CONSTANT * temperature_k) * YEAR_S


def leak_range(
    rise_pa_s: float,
    *,
    volume_m3: float,
    refrigerant: Fluid,
    temperature_k: float,
    system_pressure_pa: float,
    atmosphere_pa: float = STANDARD_ATMOSPHERE_PA,
) -> LeakRange:
    """Return what a steady vacuum rise would lose per year once the system is charged.

    Parameters:
        rise_pa_s: steady rise [Pa/s].
        volume_m3: volume of the isolated system [m³], 0.1 to 100 litres.
        refrigerant: what the system will hold.
        temperature_k: temperature [K].
        system_pressure_pa: absolute pressure of the charged system [Pa].
        atmosphere_pa: air pressure at the site [Pa].

    Returns: throughput of air [Pa m³/s] and refrigerant lost [kg/year] by two laws of flow. They differ about
    20-fold at 6 bar and real leaks lie between, so the range is the answer.

    Raises ``not_a_number``, ``rate``, ``volume``, ``p_atm``, ``pressure``, ``temperature``.

    Source: vacuum-technology textbook, viscous and molecular flow through one leak.
    """
    _check(rise_pa_s, volume_m3, temperature_k, system_pressure_pa, atmosphere_pa)
    air = rise_pa_s * volume_m3
    ratio = system_pressure_pa / atmosphere_pa
    viscous = air * viscous_ratio(refrigerant, Fluid.AIR, temperature_k) * (ratio**2 - 1)
    molecular = air * molecular_ratio(refrigerant, Fluid.AIR) * (ratio - 1)
    return LeakRange(
        rise_pa_s=rise_pa_s,
        volume_m3=volume_m3,
        refrigerant=refrigerant,
        temperature_k=temperature_k,
        system_pressure_pa=system_pressure_pa,
        atmosphere_pa=atmosphere_pa,
        air_pa_m3_s=air,
        molecular_kg_year=mass_rate_kg_year(molecular, refrigerant, temperature_k),
        viscous_kg_year=mass_rate_kg_year(viscous, refrigerant, temperature_k),
        warnings=(
            Notice(
                "one_way",
                "Seals may leak one way only: the leak under pressure can differ from that under vacuum.",
            ),
        ),
    )


def _check(rise: float, volume: float, temperature: float, system: float, barometer: float) -> None:
    within(
        rise,
        0,
        1e5,
        name="The rise",
        field="rise_pa_s",
        code="rate",
        message="The rise must be between 0 and 1 bar per second.",
    )
    within(
        volume,
        SMALLEST_VOLUME_M3,
        LARGEST_VOLUME_M3,
        name="The volume of the system",
        field="volume_m3",
        code="volume",
        message="The volume of the system must be between 0.1 and 100 litres.",
    )
    checked_atmosphere_pa(barometer)
    check_temperature(temperature)
    within(
        system,
        math.nextafter(barometer, math.inf),
        HIGHEST_PRESSURE_PA,
        name="The pressure of the charged system",
        field="system_pressure_pa",
        code="pressure",
        message="The pressure of the charged system must be above the air pressure and at most 200 bar "
        "absolute.",
    )
