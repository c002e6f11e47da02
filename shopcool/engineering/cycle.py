"""The refrigerant cycle from gauge readings: superheat, subcooling and the ideal performance."""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from enum import StrEnum

from shopcool.engineering import properties
from shopcool.engineering.errors import Refusal
from shopcool.engineering.limits import number
from shopcool.engineering.properties import Fluid, State, service_refrigerant
from shopcool.engineering.results import Notice
from shopcool.engineering.saturation import (
    IMPLAUSIBLE_BOILING_K,
    boiling_slope_k_per_pa,
    checked_uncertainty,
    lowest_boiling_pressure_pa,
    too_cold,
)

METHOD_VERSION = "cycle 1"
SOURCE = "One-stage vapour compression, ASHRAE Handbook Fundamentals, thermodynamics and refrigeration cycles"
# Standard uncertainties of gauges of class 1.6 with spans of 10 and 35 bar, and of a pipe clamp good to 1 K.
LOW_GAUGE_PA, HIGH_GAUGE_PA, CLAMP_K = (limit / math.sqrt(3.0) for limit in (16e3, 56e3, 1.0))
COVERAGE = 2.0
# A starved low side of a healthy compressor has been read at a ratio of 28.
EQUALISED_RATIO, HIGHEST_RATIO = 1.15, 40.0
LOWEST_DIFFERENCE_K, SATURATED_WITHIN_K, HIGHEST_SUPERHEAT_K = -2.0, 0.3, 60.0
CAUTIONS = (
    Notice("steady", "Readings count after minutes of steady running; a hose on a valve core reads late."),
    Notice("clamp", "Clamp the sensor on clean bare metal and insulate it."),
    Notice("pressure_drop", "Pressure drop in the evaporator makes superheat at the compressor look larger."),
    Notice("ideal", "The performance is that of the ideal refrigerant cycle, not of the vehicle."),
)
TRANSCRITICAL = Notice(
    "transcritical",
    "Above the critical pressure there is no condensing temperature and no subcooling: "
    "judge the gas cooler by its exit temperature above the air.",
)
ENDS_WET = Notice(
    "ends_wet",
    "Ideal compression of this refrigerant from so little superheat ends among droplets: "
    "that is its nature, not a fault, and its discharge has no superheat.",
)


class Verdict(StrEnum):
    """Which kind of cycle the readings describe."""

    SUBCRITICAL = "subcritical"
    TRANSCRITICAL = "transcritical"


@dataclass(frozen=True)
class Readings:
    """What was read: absolute pressures [Pa], temperatures [K] and their standard uncertainties [Pa, K]."""

    refrigerant: Fluid
    low_pressure_pa: float
    high_pressure_pa: float
    suction_temperature_k: float
    liquid_temperature_k: float
    discharge_temperature_k: float | None
    ambient_temperature_k: float | None
    low_uncertainty_pa: float
    high_uncertainty_pa: float
    temperature_uncertainty_k: float


@dataclass(frozen=True)
class Cycle:
    """The cycle of the readings: temperatures [K], energies [J/kg], states 1, 2, 3 and 4.

    Condensing temperature, subcooling and Carnot performance are None above the critical pressure, the
    efficiency without a usable discharge temperature, the approach without an ambient temperature.
    """

    readings: Readings
    verdict: Verdict
    evaporating_temperature_k: float
    condensing_temperature_k: float | None
    superheat_k: float
    superheat_uncertainty_k: float
    subcooling_k: float | None
    subcooling_uncertainty_k: float | None
    approach_k: float | None
    pressure_ratio: float
    cooling_j_kg: float
    work_j_kg: float
    cop_ideal: float
    cop_carnot: float | None
    vapour_share_after_valve: float
    isentropic_discharge_temperature_k: float
    isentropic_efficiency: float | None
    suction: State
    discharge: State
    liquid: State
    warnings: tuple[Notice, ...]
    source: str = SOURCE
    method_version: str = METHOD_VERSION


@dataclass(frozen=True)
class _Side:
    """One side of the circuit: its saturated states and the uncertainty of a temperature difference."""

    liquid: State
    vapour: State
    uncertainty_k: float


def cycle(
    *,
    refrigerant: Fluid,
    low_pressure_pa: float,
    high_pressure_pa: float,
    suction_temperature_k: float,
    liquid_temperature_k: float,
    discharge_temperature_k: float | None = None,
    ambient_temperature_k: float | None = None,
    low_uncertainty_pa: float = LOW_GAUGE_PA,
    high_uncertainty_pa: float = HIGH_GAUGE_PA,
    temperature_uncertainty_k: float = CLAMP_K,
) -> Cycle:
    """Return the cycle that the readings of a running system describe.

    Parameters:
        refrigerant: R-134a, R-1234yf, R-744 or R-152a.
        low_pressure_pa: low side, absolute [Pa], from the pressure of −50 °C to the critical one.
        high_pressure_pa: high side, absolute [Pa]; above the critical pressure for R-744 only.
        suction_temperature_k: suction line at the compressor [K].
        liquid_temperature_k: liquid line, or exit of the gas cooler [K].
        discharge_temperature_k: discharge line [K], if measured.
        ambient_temperature_k: air before the condenser or gas cooler [K], if measured.
        low_uncertainty_pa: standard uncertainty of the low gauge [Pa].
        high_uncertainty_pa: standard uncertainty of the high gauge [Pa].
        temperature_uncertainty_k: standard uncertainty of each thermometer [K].

    Returns: temperatures [K], superheat and subcooling with expanded uncertainty (k = 2) [K], energies [J/kg]
    and the ideal performance.

    Raises ``not_a_number``, ``not_serviced``, ``p_too_low``, ``dry_ice``, ``supercritical``, ``swapped``,
    ``equalised``, ``ratio``, ``neg_superheat``, ``superheat_high``, ``neg_subcooling``, ``no_cooling``,
    ``liquid_too_cold``, ``uncertainty``, ``T_range``.

    Source: one-stage vapour compression without pressure drop, adiabatic compressor, pure refrigerant;
    uncertainties by JCGM 100:2008, 5.1.2.
    """
    readings = _checked(
        Readings(
            service_refrigerant(refrigerant),
            low_pressure_pa,
            high_pressure_pa,
            suction_temperature_k,
            liquid_temperature_k,
            discharge_temperature_k,
            ambient_temperature_k,
            low_uncertainty_pa,
            high_uncertainty_pa,
            temperature_uncertainty_k,
        )
    )
    low = _side(readings, readings.low_pressure_pa, readings.low_uncertainty_pa)
    if _is_transcritical(readings):
        return _assembled(readings, low, None)
    return _assembled(readings, low, _side(readings, readings.high_pressure_pa, readings.high_uncertainty_pa))


def _is_transcritical(readings: Readings) -> bool:
    """Return whether the high side may have no condensing temperature: of R-744 only, others refuse."""
    fluid = readings.refrigerant
    return fluid is Fluid.R744 and readings.high_pressure_pa >= properties.critical_pressure_pa(fluid)


def _assembled(readings: Readings, low: _Side, high: _Side | None) -> Cycle:
    suction, suction_notices = _suction_state(readings, low)
    liquid, liquid_notices = _liquid_state(readings, high)
    share = _vapour_share(low, liquid)
    discharge = properties.state_ps(readings.refrigerant, readings.high_pressure_pa, suction.entropy_j_kg_k)
    cooling = suction.enthalpy_j_kg - liquid.enthalpy_j_kg
    work = discharge.enthalpy_j_kg - suction.enthalpy_j_kg
    if cooling <= 0.0 or work <= 0.0:
        raise Refusal(
            "no_cooling",
            "With these readings the evaporator would give heat instead of taking it: check thermometers "
            "and gauges.",
        )
    evaporating = low.vapour.temperature_k
    condensing = high.liquid.temperature_k if high else None
    efficiency, discharge_notices = _efficiency(readings, suction, work)
    notices = (*suction_notices, *liquid_notices, *discharge_notices)
    return Cycle(
        readings=readings,
        verdict=Verdict.SUBCRITICAL if high else Verdict.TRANSCRITICAL,
        evaporating_temperature_k=evaporating,
        condensing_temperature_k=condensing,
        superheat_k=readings.suction_temperature_k - evaporating,
        superheat_uncertainty_k=low.uncertainty_k,
        subcooling_k=condensing - readings.liquid_temperature_k if condensing is not None else None,
        subcooling_uncertainty_k=high.uncertainty_k if high else None,
        approach_k=_approach(readings, condensing),
        pressure_ratio=readings.high_pressure_pa / readings.low_pressure_pa,
        cooling_j_kg=cooling,
        work_j_kg=work,
        cop_ideal=cooling / work,
        cop_carnot=evaporating / (condensing - evaporating) if condensing is not None else None,
        vapour_share_after_valve=share,
        isentropic_discharge_temperature_k=discharge.temperature_k,
        isentropic_efficiency=efficiency,
        suction=suction,
        discharge=discharge,
        liquid=liquid,
        warnings=(*notices, *_remarks(readings, evaporating, discharge, high), *CAUTIONS),
    )


def _checked(readings: Readings) -> Readings:
    """Return the readings when each is a number and the pair of pressures is one of a running system."""
    low = number(readings.low_pressure_pa, name="The low-side pressure", field="low_pressure_pa")
    high = number(readings.high_pressure_pa, name="The high-side pressure", field="high_pressure_pa")
    number(readings.suction_temperature_k, name="The suction temperature", field="suction_temperature_k")
    number(readings.liquid_temperature_k, name="The liquid temperature", field="liquid_temperature_k")
    for value, name, field in (
        (readings.discharge_temperature_k, "The discharge temperature", "discharge_temperature_k"),
        (readings.ambient_temperature_k, "The ambient temperature", "ambient_temperature_k"),
    ):
        if value is not None:
            number(value, name=name, field=field)
    checked_uncertainty(readings.low_uncertainty_pa, abs(low), field="low_uncertainty_pa")
    checked_uncertainty(readings.high_uncertainty_pa, abs(high), field="high_uncertainty_pa")
    checked_uncertainty(readings.temperature_uncertainty_k, 20.0, field="temperature_uncertainty_k")
    _check_pressures(readings.refrigerant, low, high)
    return readings


def _check_pressures(fluid: Fluid, low_pa: float, high_pa: float) -> None:
    if low_pa < _lowest_pressure_pa(fluid):
        properties.saturation_temperature_k(fluid, low_pa)  # dry ice has its own sentence
        raise Refusal(
            "p_too_low",
            f"{low_pa / 1e5:.2f} bar abs: the system is in vacuum, no boiling temperature is shown.",
            field="low_pressure_pa",
        )
    if high_pa <= low_pa:
        raise Refusal(
            "swapped",
            "The high side is not above the low side: the compressor is not pumping, or the readings are "
            "swapped.",
            field="high_pressure_pa",
        )
    ratio = high_pa / low_pa
    if ratio < EQUALISED_RATIO:
        raise Refusal(
            "equalised",
            "Both sides stand at nearly the same pressure: the compressor is not pumping. Check clutch, "
            "drive, control valve, inverter and command before the compressor.",
            field="high_pressure_pa",
        )
    if ratio > HIGHEST_RATIO:
        raise Refusal(
            "ratio",
            f"A pressure ratio of {ratio:.0f} is not plausible: check units and gauge or absolute.",
            field="high_pressure_pa",
        )


@functools.cache
def _lowest_pressure_pa(fluid: Fluid) -> float:
    return lowest_boiling_pressure_pa(fluid)


def _side(readings: Readings, pressure_pa: float, uncertainty_pa: float) -> _Side:
    liquid, vapour = properties.saturated_pair(readings.refrigerant, pressure_pa)
    slope = boiling_slope_k_per_pa(liquid, vapour)
    uncertainty = math.hypot(slope * uncertainty_pa, readings.temperature_uncertainty_k)
    return _Side(liquid, vapour, COVERAGE * uncertainty)


def _suction_state(readings: Readings, low: _Side) -> tuple[State, tuple[Notice, ...]]:
    """Return state 1; a superheat around zero means saturated vapour, for the thermometers can't tell."""
    superheat = readings.suction_temperature_k - low.vapour.temperature_k
    if superheat < LOWEST_DIFFERENCE_K:
        raise Refusal(
            "neg_superheat",
            f"The suction line is {-superheat:.1f} K colder than the boiling temperature "
            f"({low.vapour.temperature_k - 273.15:.1f} °C); a pure refrigerant can't do that. Check "
            "clamp, unit, gauge "
            "or absolute, and refrigerant.",
            field="suction_temperature_k",
        )
    if superheat > HIGHEST_SUPERHEAT_K:
        raise Refusal(
            "superheat_high",
            f"A superheat of {superheat:.0f} K is not plausible: check thermometer, unit and refrigerant.",
            field="suction_temperature_k",
        )
    if superheat < SATURATED_WITHIN_K:
        notice = Notice("no_superheat", "No superheat within accuracy: liquid may reach the compressor.")
        return low.vapour, (notice,)
    return properties.state_pt(
        readings.refrigerant, readings.low_pressure_pa, readings.suction_temperature_k
    ), ()


def _liquid_state(readings: Readings, high: _Side | None) -> tuple[State, tuple[Notice, ...]]:
    """Return state 3; a subcooling around zero means boiling liquid."""
    pressure, temperature = readings.high_pressure_pa, readings.liquid_temperature_k
    if high is None:
        return properties.state_pt(readings.refrigerant, pressure, temperature), ()
    subcooling = high.liquid.temperature_k - temperature
    if subcooling < LOWEST_DIFFERENCE_K:
        raise Refusal(
            "neg_subcooling",
            f"The liquid line is {-subcooling:.1f} K warmer than the condensing temperature "
            f"({high.liquid.temperature_k - 273.15:.1f} °C); liquid can't be. Check clamp, unit, gauge "
            "or absolute, and "
            "refrigerant.",
            field="liquid_temperature_k",
        )
    if subcooling < SATURATED_WITHIN_K:
        notice = Notice("no_subcooling", "No subcooling within accuracy: vapour may reach the valve.")
        return high.liquid, (notice,)
    return properties.state_pt(readings.refrigerant, pressure, temperature, quality_on_line=0.0), ()


def _vapour_share(low: _Side, liquid: State) -> float:
    boiling = low.vapour.enthalpy_j_kg - low.liquid.enthalpy_j_kg
    share = (liquid.enthalpy_j_kg - low.liquid.enthalpy_j_kg) / boiling
    if share < 0.0:
        raise Refusal(
            "liquid_too_cold",
            "The liquid line is colder than the evaporator's boiling temperature: check the thermometers.",
            field="liquid_temperature_k",
        )
    if share >= 1.0:
        raise Refusal(
            "no_cooling",
            "With these readings no liquid would reach the evaporator: check thermometers and gauges.",
            field="liquid_temperature_k",
        )
    return share


def _efficiency(
    readings: Readings, suction: State, isentropic_work_j_kg: float
) -> tuple[float | None, tuple[Notice, ...]]:
    """Return the isentropic efficiency where a discharge temperature allows one."""
    if readings.discharge_temperature_k is None:
        return None, ()
    measured = properties.state_pt(
        readings.refrigerant, readings.high_pressure_pa, readings.discharge_temperature_k
    )
    work = measured.enthalpy_j_kg - suction.enthalpy_j_kg
    if work < isentropic_work_j_kg:
        notice = Notice(
            "colder_than_isentropic",
            "The discharge line is colder than an ideal compressor would make it: heat loss, wet suction "
            "or a badly "
            "placed clamp. No efficiency is shown.",
        )
        return None, (notice,)
    return isentropic_work_j_kg / work, ()


def _approach(readings: Readings, condensing_k: float | None) -> float | None:
    if readings.ambient_temperature_k is None:
        return None
    warm = readings.liquid_temperature_k if condensing_k is None else condensing_k
    return warm - readings.ambient_temperature_k


def _remarks(
    readings: Readings, evaporating_k: float, discharge: State, high: _Side | None
) -> tuple[Notice, ...]:
    notices = []
    if evaporating_k < IMPLAUSIBLE_BOILING_K:
        notices.append(too_cold(evaporating_k))
    if high is None:
        notices.append(TRANSCRITICAL)
    elif 0.0 <= discharge.quality <= 1.0:
        notices.append(ENDS_WET)
    return tuple(notices)
