"""Pressure hold with nitrogen: what the temperature explains, and the smallest leak it can see."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from shopcool.engineering import properties
from shopcool.engineering.errors import Refusal
from shopcool.engineering.fluids import Fluid
from shopcool.engineering.limits import check_temperature, within
from shopcool.engineering.quantities import STANDARD_ATMOSPHERE_PA, checked_atmosphere_pa
from shopcool.engineering.results import Notice
from shopcool.engineering.vacuum_hold.rate import (
    LARGEST_VOLUME_M3,
    SMALLEST_VOLUME_M3,
    YEAR_S,
    mass_rate_kg_year,
    molecular_ratio,
    viscous_ratio,
)

METHOD_VERSION = "pressure-hold 1"
SOURCE = "Constant density of real nitrogen (Span et al. 2000); GUM propagation, coverage factor 2"
COVERAGE = 2.0
LOWEST_START_PA = 1.5 * STANDARD_ATMOSPHERE_PA
HIGHEST_START_PA = 6e6
SHORTEST_S, LONGEST_S = 300.0, 30 * 86_400.0
LARGEST_CHANGE_K = 25.0


class Verdict(StrEnum):
    """What the hold says, within its uncertainty."""

    TIGHT_WITHIN = "tight_within"
    LOSS = "loss"
    GAIN = "gain"


SENTENCES = {
    Verdict.TIGHT_WITHIN: "Tight within the uncertainty shown: no loss larger than the smallest visible one.",
    Verdict.LOSS: "More pressure is gone than the temperature explains: circuit or hoses leak.",
    Verdict.GAIN: (
        "The pressure rose more than the temperature explains: the sensor doesn't read the gas, or the "
        "supply "
        "valve is not shut."
    ),
}
CAUTIONS = (
    Notice("regulator", "Nitrogen only through a regulator and a relief valve; never oxygen or shop air."),
    Notice("hoses", "Nitrogen leaks out of the hoses and couplers too: shut the circuit's own valves."),
    Notice(
        "metal", "The temperature counts: sensor on the metal, no sun, engine cold, 15 minutes to settle."
    ),
    Notice("vent", "Vent the nitrogen before recovery: it must not reach a refrigerant cylinder."),
)


@dataclass(frozen=True)
class PressureHold:
    """A nitrogen hold: expected and measured end [Pa], loss [Pa] with expanded uncertainty (k = 2) [Pa]."""

    first_pressure_pa: float
    first_temperature_k: float
    last_pressure_pa: float
    last_temperature_k: float
    duration_s: float
    highest_allowed_pa: float
    expected_pressure_pa: float
    loss_pa: float
    uncertainty_pa: float
    verdict: Verdict
    sentence: str
    warnings: tuple[Notice, ...] = CAUTIONS
    source: str = SOURCE
    method_version: str = METHOD_VERSION


def pressure_hold(
    first_pressure_pa: float,
    first_temperature_k: float,
    last_pressure_pa: float,
    last_temperature_k: float,
    *,
    duration_s: float,
    highest_allowed_pa: float,
    pressure_uncertainty_pa: float,
    temperature_uncertainty_k: float,
) -> PressureHold:
    """Judge a hold under nitrogen, compensated for temperature by the real gas.

    Parameters:
        first_pressure_pa: absolute pressure at the start [Pa], at least 1.5 atmospheres.
        first_temperature_k: temperature of the metal at the start [K].
        last_pressure_pa: absolute pressure at the end [Pa].
        last_temperature_k: temperature of the metal at the end [K], at most 25 K away.
        duration_s: time between [s], 5 minutes to 30 days.
        highest_allowed_pa: absolute pressure that the weakest part may hold [Pa].
        pressure_uncertainty_pa: standard uncertainty of a pressure reading [Pa].
        temperature_uncertainty_k: standard uncertainty of a temperature reading [K].

    Returns: expected pressure, loss and its expanded uncertainty [Pa], verdict.

    Raises ``not_a_number``, ``p_low``, ``over_limit``, ``short``, ``dT``, ``temperature``, ``pressure``,
    ``uncertainty``.

    Source: Span et al. 2000 for nitrogen; GUM, JCGM 100:2008, coverage factor 2.
    """
    _check_start(first_pressure_pa, highest_allowed_pa)
    _check_end(last_pressure_pa, duration_s, pressure_uncertainty_pa, temperature_uncertainty_k)
    _check_temperatures(first_temperature_k, last_temperature_k)
    expected = pressure_at_constant_density(first_pressure_pa, first_temperature_k, last_temperature_k)
    loss = expected - last_pressure_pa
    thermal = first_pressure_pa / first_temperature_k * temperature_uncertainty_k
    spread = COVERAGE * math.sqrt(2) * math.hypot(pressure_uncertainty_pa, thermal)
    verdict = Verdict.TIGHT_WITHIN
    if abs(loss) > spread:
        verdict = Verdict.LOSS if loss > 0 else Verdict.GAIN
    return PressureHold(
        first_pressure_pa=first_pressure_pa,
        first_temperature_k=first_temperature_k,
        last_pressure_pa=last_pressure_pa,
        last_temperature_k=last_temperature_k,
        duration_s=duration_s,
        highest_allowed_pa=highest_allowed_pa,
        expected_pressure_pa=expected,
        loss_pa=loss,
        uncertainty_pa=spread,
        verdict=verdict,
        sentence=SENTENCES[verdict],
    )


def pressure_at_constant_density(pressure_pa: float, from_k: float, to_k: float) -> float:
    """Return the pressure [Pa] of enclosed nitrogen after its temperature changed [K]."""
    density = properties.density_kg_m3(Fluid.NITROGEN, pressure_pa, from_k)
    pressure = pressure_pa * to_k / from_k
    for _ in range(20):  # density is nearly proportional to pressure: each round gains two digits or more
        ratio = density / properties.density_kg_m3(Fluid.NITROGEN, pressure, to_k)
        pressure *= ratio
        if abs(ratio - 1) < 1e-12:
            break
    return pressure


@dataclass(frozen=True)
class Loss:
    """A loss of nitrogen and what it would be in refrigerant per year [kg/year], by both laws of flow."""

    hold: PressureHold
    refrigerant: Fluid
    volume_m3: float
    system_pressure_pa: float
    nitrogen_kg_year: float
    molecular_kg_year: float
    viscous_kg_year: float
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


def refrigerant_loss(
    hold: PressureHold,
    *,
    volume_m3: float,
    refrigerant: Fluid,
    system_pressure_pa: float,
    atmosphere_pa: float = STANDARD_ATMOSPHERE_PA,
) -> Loss:
    """Return the measured loss as refrigerant per year; negative when pressure was gained.

    Parameters:
        hold: the hold.
        volume_m3: volume under pressure [m³].
        refrigerant: what the system will hold.
        system_pressure_pa: absolute pressure of the charged system [Pa].
        atmosphere_pa: air pressure at the site [Pa].

    Returns: loss of nitrogen and of refrigerant by two laws of flow [kg/year].

    Raises ``not_a_number``, ``volume``, ``pressure``, ``p_atm``.

    Source: vacuum-technology textbook, viscous and molecular flow through one leak.
    """
    return _loss(hold, hold.loss_pa, volume_m3, refrigerant, system_pressure_pa, atmosphere_pa)


def smallest_visible_loss(
    hold: PressureHold,
    *,
    volume_m3: float,
    refrigerant: Fluid,
    system_pressure_pa: float,
    atmosphere_pa: float = STANDARD_ATMOSPHERE_PA,
) -> Loss:
    """Return the loss as refrigerant per year that this hold could just have seen.

    Parameters:
        hold: the hold.
        volume_m3: volume under pressure [m³].
        refrigerant: what the system will hold.
        system_pressure_pa: absolute pressure of the charged system [Pa].
        atmosphere_pa: air pressure at the site [Pa].

    Returns: loss of nitrogen and of refrigerant by two laws of flow [kg/year].

    Raises ``not_a_number``, ``volume``, ``pressure``, ``p_atm``.

    Source: vacuum-technology textbook, viscous and molecular flow through one leak.
    """
    return _loss(hold, hold.uncertainty_pa, volume_m3, refrigerant, system_pressure_pa, atmosphere_pa)


def _loss(
    hold: PressureHold, loss_pa: float, volume: float, refrigerant: Fluid, system: float, barometer: float
) -> Loss:
    _check_system(volume, system, barometer)
    temperature = hold.last_temperature_k
    throughput = volume * loss_pa / hold.duration_s
    charged, tested = system / barometer, hold.first_pressure_pa / barometer
    viscous = throughput * viscous_ratio(refrigerant, Fluid.NITROGEN, temperature)
    viscous *= (charged**2 - 1) / (tested**2 - 1)
    molecular = throughput * molecular_ratio(refrigerant, Fluid.NITROGEN) * (charged - 1) / (tested - 1)
    before = properties.density_kg_m3(Fluid.NITROGEN, hold.expected_pressure_pa, temperature)
    after = properties.density_kg_m3(Fluid.NITROGEN, hold.expected_pressure_pa - loss_pa, temperature)
    return Loss(
        hold=hold,
        refrigerant=refrigerant,
        volume_m3=volume,
        system_pressure_pa=system,
        nitrogen_kg_year=volume * (before - after) / hold.duration_s * YEAR_S,
        molecular_kg_year=mass_rate_kg_year(molecular, refrigerant, temperature),
        viscous_kg_year=mass_rate_kg_year(viscous, refrigerant, temperature),
    )


def _check_start(first: float, highest: float) -> None:
    within(
        highest,
        LOWEST_START_PA,
        HIGHEST_START_PA,
        name="The highest allowed pressure",
        field="highest_allowed_pa",
        code="pressure",
        message="The highest allowed pressure must be between 1.5 and 60 bar absolute.",
    )
    within(
        first,
        LOWEST_START_PA,
        math.inf,
        name="The first pressure",
        field="first_pressure_pa",
        code="p_low",
        message="Below 1.5 atmospheres absolute a nitrogen hold sees nothing: raise the pressure.",
    )
    if first > highest:
        raise Refusal(
            "over_limit",
            "The pressure is above what the weakest part may hold: vent at once, down to its limit.",
            field="first_pressure_pa",
        )


def _check_end(last: float, duration: float, pressure_u: float, temperature_u: float) -> None:
    within(
        last,
        1.0,
        HIGHEST_START_PA,
        name="The last pressure",
        field="last_pressure_pa",
        code="pressure",
        message="The last pressure must be absolute, above 0 and below 60 bar.",
    )
    within(
        duration,
        SHORTEST_S,
        LONGEST_S,
        name="The duration",
        field="duration_s",
        code="short",
        message="The hold must last between 5 minutes and 30 days.",
    )
    for field, value, high in (
        ("pressure_uncertainty_pa", pressure_u, 1e6),
        ("temperature_uncertainty_k", temperature_u, 20.0),
    ):
        within(
            value,
            0,
            high,
            name="An uncertainty",
            field=field,
            code="uncertainty",
            message="An uncertainty can't be negative, above 10 bar or above 20 K.",
        )


def _check_temperatures(first: float, last: float) -> None:
    check_temperature(first, field="first_temperature_k")
    check_temperature(last, field="last_temperature_k")
    if abs(last - first) > LARGEST_CHANGE_K:
        raise Refusal(
            "dT", "The temperature changed by more than 25 K: settle and repeat.", field="last_temperature_k"
        )


def _check_system(volume: float, system: float, barometer: float) -> None:
    within(
        volume,
        SMALLEST_VOLUME_M3,
        LARGEST_VOLUME_M3,
        name="The volume",
        field="volume_m3",
        code="volume",
        message="The volume must be between 0.1 and 100 litres.",
    )
    checked_atmosphere_pa(barometer)
    within(
        system,
        math.nextafter(barometer, math.inf),
        20e6,
        name="The pressure of the charged system",
        field="system_pressure_pa",
        code="pressure",
        message="The charged system must be above the air pressure and at most 200 bar absolute.",
    )
