"""Where liquid and vapour coexist."""

from __future__ import annotations

import functools

from shopcool.engineering.errors import Refusal
from shopcool.engineering.fluids import WINDOWS, Fluid, fluid_named
from shopcool.engineering.properties.library import (
    State,
    answer,
    critical_pressure_pa,
    critical_temperature_k,
)
from shopcool.engineering.properties.windows import (
    below_triple,
    celsius,
    checked_quality,
    saturable,
    temperature_refusal,
)
from shopcool.engineering.results import finite


@functools.cache
def triple_pressure_pa(fluid: Fluid) -> float:
    """Return the pressure at the triple point [Pa]: below it no liquid exists."""
    return saturation_pressure_pa(fluid, WINDOWS[fluid_named(fluid)].lowest_k)


def saturation_pressure_pa(fluid: Fluid, temperature_k: float, *, quality: float = 0.0) -> float:
    """Return the pressure at which liquid and vapour coexist.

    Parameters:
        fluid: which fluid.
        temperature_k: temperature [K], triple point to critical point.
        quality: 0 boiling liquid to 1 saturated vapour.

    Returns: absolute pressure [Pa].

    Raises ``T_range`` below the triple point, ``above_Tc`` from the critical point on.

    Source: the fluid's equation of state, see :func:`equation_of_state`.
    """
    return saturated_state_at_temperature(fluid, temperature_k, quality=quality).pressure_pa


def saturation_temperature_k(fluid: Fluid, pressure_pa: float, *, quality: float = 0.0) -> float:
    """Return the temperature at which liquid and vapour coexist.

    Parameters:
        fluid: which fluid.
        pressure_pa: absolute pressure [Pa], triple point to critical point.
        quality: 0 boiling liquid to 1 saturated vapour.

    Returns: temperature [K].

    Raises ``p_too_low`` (``dry_ice`` for R-744) below the triple point, ``supercritical`` from the critical
    point on.

    Source: the fluid's equation of state, see :func:`equation_of_state`.
    """
    return saturated_state_at_pressure(fluid, pressure_pa, quality=quality).temperature_k


def saturated_density_kg_m3(fluid: Fluid, temperature_k: float, *, quality: float) -> float:
    """Return the density [kg/m³] on the saturation line at a temperature [K]: quality 0 liquid, 1 vapour."""
    return saturated_state_at_temperature(fluid, temperature_k, quality=quality).density_kg_m3


def saturated_state_at_temperature(fluid: Fluid, temperature_k: float, *, quality: float) -> State:
    """Return the saturated state at a temperature [K]; limits as :func:`saturation_pressure_pa`."""
    fluid = saturable(fluid)
    temperature = finite(temperature_k, "temperature_k")
    share = checked_quality(quality)
    window = WINDOWS[fluid]
    critical = critical_temperature_k(fluid)
    if temperature >= critical:
        raise Refusal(
            "above_Tc",
            f"{fluid} has no liquid at {celsius(temperature)}: its critical temperature is "
            f"{celsius(critical)}, liquid and vapour cannot coexist above it.",
            field="temperature_k",
            details={"critical_temperature_k": critical},
        )
    if temperature < window.lowest_k:
        raise temperature_refusal(fluid, temperature, window)
    return answer(fluid, "QT_INPUTS", share, temperature)


def saturated_state_at_pressure(fluid: Fluid, pressure_pa: float, *, quality: float) -> State:
    """Return the saturated state at a pressure [Pa]; limits as :func:`saturation_temperature_k`."""
    fluid = saturable(fluid)
    pressure = finite(pressure_pa, "pressure_pa")
    share = checked_quality(quality)
    _check_saturable_pressure(fluid, pressure)
    return answer(fluid, "PQ_INPUTS", pressure, share)


def saturated_pair(fluid: Fluid, pressure_pa: float) -> tuple[State, State]:
    """Return boiling liquid and saturated vapour at a pressure [Pa], within the saturation line."""
    fluid = saturable(fluid)
    pressure = finite(pressure_pa, "pressure_pa")
    _check_saturable_pressure(fluid, pressure)
    return answer(fluid, "PQ_INPUTS", pressure, 0.0), answer(fluid, "PQ_INPUTS", pressure, 1.0)


def _check_saturable_pressure(fluid: Fluid, pressure_pa: float) -> None:
    critical = critical_pressure_pa(fluid)
    if pressure_pa >= critical:
        raise Refusal(
            "supercritical",
            f"{pressure_pa / 1e5:.1f} bar abs is above the critical pressure of {fluid} "
            f"({critical / 1e5:.1f}): no condensing temperature, no subcooling. "
            "Stop the system, or wrong unit or refrigerant.",
            field="pressure_pa",
            details={"critical_pressure_pa": critical},
        )
    if pressure_pa < triple_pressure_pa(fluid):
        raise below_triple(fluid, pressure_pa)
