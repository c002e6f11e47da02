"""States of one phase or two, and the viscosity."""

from __future__ import annotations

import math

from shopcool.engineering.errors import Refusal
from shopcool.engineering.fluids import Fluid, fluid_named
from shopcool.engineering.properties.library import State, answer, kept_state
from shopcool.engineering.properties.saturation import saturated_state_at_pressure, saturation_temperature_k
from shopcool.engineering.properties.windows import check_pressure, check_window, inside
from shopcool.engineering.results import finite

# Closer to the saturation line than this [K] a pressure-temperature question is answered by the saturated
# state.
LINE_WIDTH_K = 1e-3


def state_pt(
    fluid: Fluid, pressure_pa: float, temperature_k: float, *, quality_on_line: float = 1.0
) -> State:
    """Return the state at a pressure and a temperature.

    Parameters:
        fluid: which fluid.
        pressure_pa: absolute pressure [Pa].
        temperature_k: temperature [K].
        quality_on_line: on the saturation line itself, 1 for vapour or 0 for liquid.

    Returns: the state.

    Raises ``T_range``, ``p_range``, ``no_state``.

    Source: the fluid's equation of state, see :func:`equation_of_state`.
    """
    fluid = fluid_named(fluid)
    pressure, temperature = finite(pressure_pa, "pressure_pa"), finite(temperature_k, "temperature_k")
    check_window(fluid, pressure, temperature)
    try:
        return answer(fluid, "PT_INPUTS", pressure, temperature)
    except Refusal:
        if not _is_on_line(fluid, pressure, temperature):
            raise
        return saturated_state_at_pressure(fluid, pressure, quality=quality_on_line)


def state_ps(fluid: Fluid, pressure_pa: float, entropy_j_kg_k: float) -> State:
    """Return the state at a pressure [Pa] and an entropy [J/(kg K)]; limits as :func:`state_pt`."""
    fluid = fluid_named(fluid)
    pressure, entropy = finite(pressure_pa, "pressure_pa"), finite(entropy_j_kg_k, "entropy_j_kg_k")
    check_pressure(fluid, pressure)
    return inside(fluid, answer(fluid, "PSmass_INPUTS", pressure, entropy))


def state_ph(fluid: Fluid, pressure_pa: float, enthalpy_j_kg: float) -> State:
    """Return the state at a pressure [Pa] and a specific enthalpy [J/kg]; limits as :func:`state_pt`."""
    fluid = fluid_named(fluid)
    pressure, enthalpy = finite(pressure_pa, "pressure_pa"), finite(enthalpy_j_kg, "enthalpy_j_kg")
    check_pressure(fluid, pressure)
    return inside(fluid, answer(fluid, "HmassP_INPUTS", enthalpy, pressure))


def density_kg_m3(fluid: Fluid, pressure_pa: float, temperature_k: float) -> float:
    """Return the density [kg/m³] at a pressure [Pa] and a temperature [K]."""
    return state_pt(fluid, pressure_pa, temperature_k).density_kg_m3


def enthalpy_j_kg(fluid: Fluid, pressure_pa: float, temperature_k: float) -> float:
    """Return the specific enthalpy [J/kg] at a pressure [Pa] and a temperature [K]; use differences only."""
    return state_pt(fluid, pressure_pa, temperature_k).enthalpy_j_kg


def entropy_j_kg_k(fluid: Fluid, pressure_pa: float, temperature_k: float) -> float:
    """Return the entropy [J/(kg K)] at a pressure [Pa] and a temperature [K]; use differences only."""
    return state_pt(fluid, pressure_pa, temperature_k).entropy_j_kg_k


def viscosity_pa_s(fluid: Fluid, pressure_pa: float, temperature_k: float) -> float:
    """Return the dynamic viscosity [Pa s] at a pressure [Pa] and a temperature [K]."""
    state_pt(fluid, pressure_pa, temperature_k)  # leaves this thread's state there
    kept = kept_state(fluid_named(fluid))
    try:
        value = float(kept.viscosity())
    except (ValueError, RuntimeError, ArithmeticError):
        value = math.nan
    if not (math.isfinite(value) and value > 0.0):
        raise Refusal("no_state", f"No viscosity of {fluid} is known for this pressure and temperature.")
    return value


def _is_on_line(fluid: Fluid, pressure_pa: float, temperature_k: float) -> bool:
    """Return whether the point lies on the saturation line, where pressure and temperature say too little."""
    try:
        boiling_k = saturation_temperature_k(fluid, pressure_pa)
    except Refusal:
        return False
    return abs(boiling_k - temperature_k) < LINE_WIDTH_K
