"""Data of the pressure-enthalpy chart: dome, isotherms, isentropes and a measured cycle on it."""

from __future__ import annotations

import functools
from dataclasses import dataclass

import numpy as np

from shopcool.engineering import properties
from shopcool.engineering.cycle import Cycle
from shopcool.engineering.errors import Refusal
from shopcool.engineering.fluids import WINDOWS
from shopcool.engineering.properties import Fluid, State, service_refrigerant

METHOD_VERSION = "chart 1"
COLDEST_K = 223.15
HIGHEST_PRESSURE_OF_CRITICAL = 1.25
HIGHEST_TRANSCRITICAL_PA = 16e6
DOME_POINTS = 60
ISOTHERM_POINTS = 22
ISENTROPE_POINTS = 12
COMPRESSION_POINTS = 8
ISOTHERM_STEP_K = 20.0
ISENTROPES = 5
EVAPORATOR_K = 273.15


@dataclass(frozen=True)
class Point:
    """A point of the chart: specific enthalpy [J/kg] and absolute pressure [Pa]."""

    enthalpy_j_kg: float
    pressure_pa: float


@dataclass(frozen=True)
class Line:
    """A line of one temperature [K] or one entropy [J/(kg K)]."""

    value: float
    points: tuple[Point, ...]


@dataclass(frozen=True)
class Chart:
    """The chart of one refrigerant; dome lines run from cold to the critical point."""

    refrigerant: Fluid
    boiling_line: tuple[Point, ...]
    dew_line: tuple[Point, ...]
    critical: Point
    isotherms: tuple[Line, ...]
    isentropes: tuple[Line, ...]
    lowest_pressure_pa: float
    highest_pressure_pa: float
    source: str
    method_version: str = METHOD_VERSION


@dataclass(frozen=True)
class CycleOnChart:
    """A measured cycle: corners 1 to 4 by name and the closed outline through them."""

    corners: tuple[tuple[str, Point], ...]
    outline: tuple[Point, ...]


@functools.lru_cache(maxsize=len(Fluid))
def chart(refrigerant: Fluid) -> Chart:
    """Return the pressure-enthalpy chart of a refrigerant, computed once.

    Parameters:
        refrigerant: R-134a, R-1234yf, R-744 or R-152a.

    Returns: dome, isotherms every 20 K and isentropes, as points of enthalpy [J/kg] and pressure [Pa].

    Raises ``not_serviced``, ``unknown_fluid``.

    Source: the refrigerant's equation of state; enthalpy counts in differences only.
    """
    fluid = service_refrigerant(refrigerant)
    critical_k = properties.critical_temperature_k(fluid)
    boiling, dew = _dome(fluid, critical_k)
    lowest, highest = boiling[0].pressure_pa, _highest_pressure_pa(fluid)
    critical_pressure = properties.critical_pressure_pa(fluid)
    critical = Point((boiling[-1].enthalpy_j_kg + dew[-1].enthalpy_j_kg) / 2.0, critical_pressure)
    return Chart(
        refrigerant=fluid,
        boiling_line=boiling,
        dew_line=dew,
        critical=critical,
        isotherms=tuple(
            _isotherm(fluid, kelvin, lowest, highest) for kelvin in _isotherm_temperatures(fluid)
        ),
        isentropes=_isentropes(fluid, lowest, highest),
        lowest_pressure_pa=lowest,
        highest_pressure_pa=highest,
        source=properties.equation_of_state(fluid),
    )


def on_chart(measured: Cycle) -> CycleOnChart:
    """Return a measured cycle as points of the chart: compression, cooling down, throttling, boiling.

    Parameters:
        measured: the cycle of the readings.

    Returns: corners 1 (suction), 2 (discharge of the ideal compressor), 3 (liquid) and 4 (after the valve),
    with the enthalpy [J/kg] and pressure [Pa] of each, and the closed outline.
    """
    suction, discharge, liquid = map(_point, (measured.suction, measured.discharge, measured.liquid))
    throttled = Point(liquid.enthalpy_j_kg, suction.pressure_pa)
    fluid, entropy = measured.readings.refrigerant, measured.suction.entropy_j_kg_k
    between = _pressures(suction.pressure_pa, discharge.pressure_pa, COMPRESSION_POINTS)[1:-1]
    compression = [_point(properties.state_ps(fluid, pressure, entropy)) for pressure in between]
    return CycleOnChart(
        corners=(("1", suction), ("2", discharge), ("3", liquid), ("4", throttled)),
        outline=(suction, *compression, discharge, liquid, throttled, suction),
    )


def _point(state: State) -> Point:
    return Point(state.enthalpy_j_kg, state.pressure_pa)


def _highest_pressure_pa(fluid: Fluid) -> float:
    if fluid is Fluid.R744:
        return HIGHEST_TRANSCRITICAL_PA
    return HIGHEST_PRESSURE_OF_CRITICAL * properties.critical_pressure_pa(fluid)


def _dome(fluid: Fluid, critical_k: float) -> tuple[tuple[Point, ...], tuple[Point, ...]]:
    """Return boiling and dew line; points crowd where the lines bend, towards the critical point."""
    gaps = np.geomspace(critical_k - COLDEST_K, 0.01, DOME_POINTS)
    temperatures = [COLDEST_K, *(float(critical_k - gap) for gap in gaps[1:])]
    lines = []
    for quality in (0.0, 1.0):
        states = (
            properties.saturated_state_at_temperature(fluid, kelvin, quality=quality)
            for kelvin in temperatures
        )
        lines.append(tuple(_point(state) for state in states))
    return lines[0], lines[1]


def _isotherm_temperatures(fluid: Fluid) -> tuple[float, ...]:
    highest = min(properties.critical_temperature_k(fluid) + 60.0, WINDOWS[fluid].highest_k)
    return tuple(float(kelvin) for kelvin in np.arange(233.15, highest, ISOTHERM_STEP_K))


def _isotherm(fluid: Fluid, kelvin: float, lowest_pa: float, highest_pa: float) -> Line:
    """Return one isotherm; in the dome it is exactly level, between its two saturated states."""
    if kelvin >= properties.critical_temperature_k(fluid):
        return Line(kelvin, _points(fluid, kelvin, _pressures(highest_pa, lowest_pa, ISOTHERM_POINTS)))
    liquid, vapour = (
        properties.saturated_state_at_temperature(fluid, kelvin, quality=quality) for quality in (0.0, 1.0)
    )
    compressed = _pressures(highest_pa, liquid.pressure_pa, ISOTHERM_POINTS // 2)[:-1]
    superheated = _pressures(vapour.pressure_pa, lowest_pa, ISOTHERM_POINTS)[1:]
    plateau = (_point(liquid), _point(vapour))
    return Line(kelvin, (*_points(fluid, kelvin, compressed), *plateau, *_points(fluid, kelvin, superheated)))


def _pressures(from_pa: float, to_pa: float, count: int) -> list[float]:
    return [float(pressure) for pressure in np.geomspace(from_pa, to_pa, count)]


def _points(fluid: Fluid, kelvin: float, pressures: list[float]) -> tuple[Point, ...]:
    return tuple(_point(properties.state_pt(fluid, pressure, kelvin)) for pressure in pressures)


def _isentropes(fluid: Fluid, lowest_pa: float, highest_pa: float) -> tuple[Line, ...]:
    """Return isentropes through the gas of an evaporator at 0 °C, from dry to 100 K of superheat."""
    dry = properties.saturated_state_at_temperature(fluid, EVAPORATOR_K, quality=1.0)
    hot = properties.state_pt(fluid, dry.pressure_pa, EVAPORATOR_K + 100.0)
    entropies = np.linspace(dry.entropy_j_kg_k, hot.entropy_j_kg_k, ISENTROPES)
    return tuple(_isentrope(fluid, float(entropy), lowest_pa, highest_pa) for entropy in entropies)


def _isentrope(fluid: Fluid, entropy: float, lowest_pa: float, highest_pa: float) -> Line:
    """Return one isentrope upwards, as far as the equation of state goes."""
    points = []
    for pressure in _pressures(lowest_pa, highest_pa, ISENTROPE_POINTS):
        try:
            points.append(_point(properties.state_ps(fluid, pressure, entropy)))
        except Refusal:
            break
    return Line(entropy, tuple(points))
