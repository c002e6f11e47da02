"""Standing pressure against saturation: what it tells about the gas at rest, and what it can't."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from shopcool.engineering import properties
from shopcool.engineering.errors import Refusal
from shopcool.engineering.limits import check_temperature, number, within
from shopcool.engineering.properties import REFRIGERANTS, Fluid
from shopcool.engineering.quantities import STANDARD_ATMOSPHERE_PA, checked_atmosphere_pa
from shopcool.engineering.results import Notice
from shopcool.engineering.saturation import boiling_slope_k_per_pa, checked_refrigerant, checked_uncertainty

METHOD_VERSION = "static-pressure 1"
SOURCE = "Dalton's law above the saturation pressure; GUM propagation (JCGM 100:2008), coverage factor 2"
COVERAGE = 2.0
GAS_CONSTANT_J_MOL_K = 8.314462618
HIGHEST_PA = 20e6
SMALLEST_VOLUME_M3, LARGEST_VOLUME_M3 = 1e-5, 10.0
LARGEST_CHARGE_KG = 1000.0


class Verdict(StrEnum):
    """What the standing pressure says."""

    CONSISTENT = "consistent"
    EXTRA_GAS = "extra_gas"
    NO_LIQUID = "no_liquid"
    BASIS_MIX_UP = "basis_mix_up"


SENTENCES = {
    Verdict.CONSISTENT: (
        "Liquid is present, and the pressure agrees with this refrigerant. It says nothing about the "
        "amount, about air below the share shown, or about a gas of nearly the same pressure."
    ),
    Verdict.EXTRA_GAS: (
        "The pressure is too high: extra gas, air or another or mixed refrigerant. Use an identifier."
    ),
    Verdict.NO_LIQUID: "The pressure is too low: no liquid left, another refrigerant, or not yet equalised.",
    Verdict.BASIS_MIX_UP: (
        "The pressure is off by one atmosphere: gauge and absolute may be mixed up. Check that first."
    ),
}
CAUTIONS = (
    Notice(
        "rest", "Hours of rest at constant temperature, no sun, the thermometer on the metal near the liquid."
    ),
    Notice("gas_not_recognised", "Pressure can't tell which gas it is: only an identifier can."),
    Notice("dissolved", "Air dissolved in liquid or oil does not show here."),
)


@dataclass(frozen=True)
class StaticPressure:
    """A standing pressure beside saturation [Pa], expanded uncertainty [Pa], and the bounds of an air share.

    Air shares are mole fractions of the vapour if all the excess were air; air masses [kg] need the vapour
    volume. ``also_fits`` names the other refrigerants whose pressure agrees as well.
    """

    refrigerant: Fluid
    pressure_pa: float
    temperature_k: float
    saturation_pressure_pa: float
    excess_pa: float
    uncertainty_pa: float
    verdict: Verdict
    sentence: str
    lowest_air_share: float
    highest_air_share: float
    lowest_air_kg: float | None
    highest_air_kg: float | None
    vapour_only_below_kg: float | None
    also_fits: tuple[Fluid, ...]
    warnings: tuple[Notice, ...] = CAUTIONS
    source: str = SOURCE
    method_version: str = METHOD_VERSION


def static_pressure(
    *,
    refrigerant: Fluid,
    pressure_pa: float,
    temperature_k: float,
    pressure_uncertainty_pa: float = 8e3,
    temperature_uncertainty_k: float = 1.0,
    vapour_volume_m3: float | None = None,
    circuit_volume_m3: float | None = None,
    charge_kg: float | None = None,
    atmosphere_pa: float = STANDARD_ATMOSPHERE_PA,
) -> StaticPressure:
    """Judge the pressure of a resting circuit or container.

    Parameters:
        refrigerant: what should be in it, R-12 included.
        pressure_pa: absolute [Pa], equalised.
        temperature_k: of the liquid [K], −40 to 80 °C.
        pressure_uncertainty_pa: standard uncertainty of the gauge [Pa].
        temperature_uncertainty_k: standard uncertainty of the temperature [K].
        vapour_volume_m3: volume above the liquid [m³], for the mass of air.
        circuit_volume_m3: whole inner volume [m³], for the smallest charge with liquid.
        charge_kg: known charge [kg], to refuse when it is all vapour or fills the volume.
        atmosphere_pa: air pressure [Pa], for the gauge-absolute mix-up.

    Returns: verdict, excess [Pa] with expanded uncertainty (k = 2) [Pa], and bounds of the air share.

    Raises ``not_a_number``, ``not_a_refrigerant``, ``pressure``, ``temperature``, ``above_Tc``,
    ``uncertainty``, ``volume``, ``charge``, ``all_vapour``, ``liquid_full``, ``p_atm``.

    Source: Dalton's law, p = p_sat(T) + p_air; JCGM 100:2008, 5.1.2, with k = 2.
    """
    fluid = checked_refrigerant(refrigerant)
    pressure = within(
        pressure_pa,
        1.0,
        HIGHEST_PA,
        name="The pressure",
        field="pressure_pa",
        code="pressure",
        message="A standing pressure lies between a vacuum and 200 bar abs: check the unit.",
    )
    temperature = check_temperature(temperature_k)
    liquid, vapour = (
        properties.saturated_state_at_temperature(fluid, temperature, quality=quality)
        for quality in (0.0, 1.0)
    )
    _check_charge(charge_kg, circuit_volume_m3, liquid.density_kg_m3, vapour.density_kg_m3)
    slope_pa_k = 1.0 / boiling_slope_k_per_pa(liquid, vapour)
    gauge = checked_uncertainty(pressure_uncertainty_pa, 1e6, field="pressure_uncertainty_pa")
    thermometer = checked_uncertainty(temperature_uncertainty_k, 20.0, field="temperature_uncertainty_k")
    spread = COVERAGE * math.hypot(gauge, slope_pa_k * thermometer)
    excess = pressure - vapour.pressure_pa
    verdict = _verdict(excess, spread, checked_atmosphere_pa(atmosphere_pa))
    lowest, highest = max(0.0, excess - spread), max(0.0, excess + spread)
    return StaticPressure(
        refrigerant=fluid,
        pressure_pa=pressure,
        temperature_k=temperature,
        saturation_pressure_pa=vapour.pressure_pa,
        excess_pa=excess,
        uncertainty_pa=spread,
        verdict=verdict,
        sentence=SENTENCES[verdict],
        lowest_air_share=min(1.0, lowest / pressure),
        highest_air_share=min(1.0, highest / pressure),
        lowest_air_kg=_air_kg(lowest, vapour_volume_m3, temperature),
        highest_air_kg=_air_kg(highest, vapour_volume_m3, temperature),
        vapour_only_below_kg=_vapour_kg(circuit_volume_m3, vapour.density_kg_m3),
        also_fits=_also_fits(fluid, pressure, temperature, spread),
    )


def _verdict(excess_pa: float, spread_pa: float, atmosphere_pa: float) -> Verdict:
    if abs(excess_pa) <= spread_pa:
        return Verdict.CONSISTENT
    if abs(abs(excess_pa) - atmosphere_pa) <= spread_pa:
        return Verdict.BASIS_MIX_UP
    return Verdict.EXTRA_GAS if excess_pa > 0.0 else Verdict.NO_LIQUID


def _check_charge(charge_kg: float | None, volume_m3: float | None, liquid: float, vapour: float) -> None:
    """Refuse a charge without liquid or without vapour: its pressure says nothing about air."""
    if charge_kg is None:
        return
    charge = within(
        charge_kg,
        0.0,
        LARGEST_CHARGE_KG,
        name="The charge",
        field="charge_kg",
        code="charge",
        message="A charge lies between 0 and 1000 kg: check the unit.",
    )
    if volume_m3 is None:
        raise Refusal(
            "volume", "A charge says something only with the inner volume.", field="circuit_volume_m3"
        )
    volume = _checked_volume(volume_m3, "circuit_volume_m3")
    if charge <= vapour * volume:
        raise Refusal(
            "all_vapour",
            f"{charge * 1000:.0f} g is all vapour in this volume (liquid begins at "
            f"{vapour * volume * 1000:.0f} g): the standing pressure says nothing about air.",
            field="charge_kg",
        )
    if charge >= liquid * volume:
        raise Refusal(
            "liquid_full",
            f"{charge * 1000:.0f} g fills this volume with liquid: danger, do not heat or move it.",
            field="charge_kg",
        )


def _checked_volume(volume_m3: float, field: str) -> float:
    return within(
        volume_m3,
        SMALLEST_VOLUME_M3,
        LARGEST_VOLUME_M3,
        name="The volume",
        field=field,
        code="volume",
        message="The volume must be between 10 ml and 10 m³: check the unit.",
    )


def _vapour_kg(volume_m3: float | None, density_kg_m3: float) -> float | None:
    return None if volume_m3 is None else density_kg_m3 * _checked_volume(volume_m3, "circuit_volume_m3")


def _air_kg(pressure_pa: float, volume_m3: float | None, temperature_k: float) -> float | None:
    """Return the mass of air [kg] of a partial pressure [Pa], an ideal gas."""
    if volume_m3 is None:
        return None
    volume = _checked_volume(volume_m3, "vapour_volume_m3")
    molar_mass = properties.molar_mass_kg_mol(Fluid.AIR)
    return number(
        pressure_pa * volume * molar_mass / (GAS_CONSTANT_J_MOL_K * temperature_k), name="The air", field=""
    )


def _also_fits(fluid: Fluid, pressure_pa: float, temperature_k: float, spread_pa: float) -> tuple[Fluid, ...]:
    others = (other for other in REFRIGERANTS if other is not fluid)
    return tuple(other for other in others if _fits(other, pressure_pa, temperature_k, spread_pa))


def _fits(fluid: Fluid, pressure_pa: float, temperature_k: float, spread_pa: float) -> bool:
    if temperature_k >= properties.critical_temperature_k(fluid):
        return False
    return abs(properties.saturation_pressure_pa(fluid, temperature_k) - pressure_pa) <= spread_pa
