"""Boiling temperature for a gauge reading, or pressure for a temperature, with uncertainty."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from shopcool.engineering import properties
from shopcool.engineering.errors import Refusal
from shopcool.engineering.limits import number
from shopcool.engineering.properties import REFRIGERANTS, Fluid, State, fluid_named
from shopcool.engineering.results import Notice

METHOD_VERSION = "saturation 1"
COVERAGE = 2.0
COLDEST_BOILING_K = 223.15  # no circuit of a vehicle boils below −50 °C
IMPLAUSIBLE_BOILING_K = 243.15

TWINS = Notice(
    "gas_not_recognised",
    "Pressure and temperature can't tell R-134a, R-1234yf and R-12 apart: only an identifier can.",
)


class Verdict(StrEnum):
    """Whether a working evaporator could be this cold."""

    PLAUSIBLE = "plausible"
    IMPLAUSIBLE = "implausible"


@dataclass(frozen=True)
class Saturation:
    """Absolute pressure [Pa] and boiling temperature [K] with slope [K/Pa] and expanded uncertainty [K]."""

    refrigerant: Fluid
    pressure_pa: float
    pressure_uncertainty_pa: float
    temperature_k: float
    temperature_uncertainty_k: float
    slope_k_per_pa: float
    verdict: Verdict
    warnings: tuple[Notice, ...]
    source: str
    method_version: str = METHOD_VERSION


def saturation(*, refrigerant: Fluid, pressure_pa: float, pressure_uncertainty_pa: float = 0.0) -> Saturation:
    """Return the boiling temperature that belongs to a pressure.

    Parameters:
        refrigerant: which refrigerant.
        pressure_pa: absolute pressure [Pa], from that of −50 °C to the critical point.
        pressure_uncertainty_pa: standard uncertainty of the gauge [Pa].

    Returns: temperature [K], its expanded uncertainty (k = 2) [K] and the slope [K/Pa].

    Raises ``not_a_number``, ``p_too_low``, ``dry_ice``, ``supercritical``, ``uncertainty``.

    Source: the refrigerant's equation of state; slope by Clausius and Clapeyron.
    """
    fluid = checked_refrigerant(refrigerant)
    pressure = checked_boiling_pressure(fluid, pressure_pa, field="pressure_pa")
    uncertainty = checked_uncertainty(pressure_uncertainty_pa, pressure / 2, field="pressure_uncertainty_pa")
    liquid, vapour = properties.saturated_pair(fluid, pressure)
    slope = boiling_slope_k_per_pa(liquid, vapour)
    verdict = Verdict.PLAUSIBLE if vapour.temperature_k >= IMPLAUSIBLE_BOILING_K else Verdict.IMPLAUSIBLE
    warnings = (TWINS,) if verdict is Verdict.PLAUSIBLE else (TWINS, too_cold(vapour.temperature_k))
    return Saturation(
        refrigerant=fluid,
        pressure_pa=pressure,
        pressure_uncertainty_pa=uncertainty,
        temperature_k=vapour.temperature_k,
        temperature_uncertainty_k=COVERAGE * slope * uncertainty,
        slope_k_per_pa=slope,
        verdict=verdict,
        warnings=warnings,
        source=properties.equation_of_state(fluid),
    )


@dataclass(frozen=True)
class AboveBoiling:
    """A temperature above the boiling one: positive is superheat, negative subcooling, with k = 2 [K]."""

    value_k: float
    uncertainty_k: float


def above_boiling(
    found: Saturation, temperature_k: float, *, temperature_uncertainty_k: float
) -> AboveBoiling:
    """Return how far a line's temperature lies above the boiling temperature of its pressure.

    Parameters:
        found: boiling temperature of the pressure at the same place.
        temperature_k: measured at the line [K].
        temperature_uncertainty_k: standard uncertainty of the thermometer [K].

    Returns: difference [K] with expanded uncertainty (k = 2) [K].

    Raises ``not_a_number``, ``uncertainty``.

    Source: uncertainties by JCGM 100:2008, 5.1.2.
    """
    measured = number(temperature_k, name="The temperature", field="temperature_k")
    thermometer = checked_uncertainty(temperature_uncertainty_k, 20.0, field="temperature_uncertainty_k")
    return AboveBoiling(
        value_k=measured - found.temperature_k,
        uncertainty_k=math.hypot(found.temperature_uncertainty_k, COVERAGE * thermometer),
    )


def boiling_slope_k_per_pa(liquid: State, vapour: State) -> float:
    """Return how much the boiling temperature rises with the pressure [K/Pa] (Clausius and Clapeyron)."""
    growth = 1.0 / vapour.density_kg_m3 - 1.0 / liquid.density_kg_m3
    return vapour.temperature_k * growth / (vapour.enthalpy_j_kg - liquid.enthalpy_j_kg)


def checked_refrigerant(name: Fluid) -> Fluid:
    """Return a refrigerant, R-12 included, or refuse with ``unknown_fluid`` or ``not_a_refrigerant``."""
    fluid = fluid_named(name)
    if fluid not in REFRIGERANTS:
        raise Refusal("not_a_refrigerant", f"{fluid} is not a refrigerant of a vehicle.", field="refrigerant")
    return fluid


def checked_boiling_pressure(fluid: Fluid, pressure_pa: float, *, field: str) -> float:
    """Return a pressure [Pa] at which the fluid boils above −50 °C.

    Raises ``not_a_number``, ``p_too_low``, ``dry_ice`` or ``supercritical``.
    """
    pressure = number(pressure_pa, name="The pressure", field=field)
    properties.saturation_temperature_k(fluid, pressure)
    if pressure < lowest_boiling_pressure_pa(fluid):
        raise Refusal(
            "p_too_low",
            f"{pressure / 1e5:.2f} bar abs: the system is in vacuum, no boiling temperature is shown.",
            field=field,
        )
    return pressure


def lowest_boiling_pressure_pa(fluid: Fluid) -> float:
    """Return the pressure [Pa] at which the fluid boils at −50 °C."""
    return properties.saturation_pressure_pa(fluid, COLDEST_BOILING_K)


def checked_uncertainty(value: float, largest: float, *, field: str) -> float:
    """Return the standard uncertainty of an instrument unless it is negative or absurd, else refuse."""
    uncertainty = number(value, name="The uncertainty", field=field)
    if not 0.0 <= uncertainty <= largest:
        raise Refusal(
            "uncertainty",
            f"The uncertainty of an instrument must be between 0 and {largest:.3g} (SI) here.",
            field=field,
        )
    return uncertainty


def too_cold(temperature_k: float) -> Notice:
    """Return the remark on a boiling temperature [K] that no evaporator of a vehicle has in service."""
    return Notice(
        "implausible_cold",
        f"{temperature_k - 273.15:.0f} °C is implausible for an evaporator at work: the low side is "
        "starved, empty or "
        "misread.",
    )
