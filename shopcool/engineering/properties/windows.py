"""The limits within which an answer is given, and the sentences beyond them."""

from __future__ import annotations

from shopcool.engineering.errors import Refusal
from shopcool.engineering.fluids import WINDOWS, Fluid, Window, fluid_named
from shopcool.engineering.properties.library import State
from shopcool.engineering.results import finite


def saturable(fluid: Fluid) -> Fluid:
    """Return a fluid that has a saturation line, or refuse with ``no_saturation``."""
    known = fluid_named(fluid)
    if known is Fluid.AIR:
        raise Refusal(
            "no_saturation", "Air is a mixture: it has no single boiling temperature.", field="fluid"
        )
    return known


def checked_quality(quality: float) -> float:
    """Return a vapour share from 0 to 1, or refuse with ``quality``."""
    value = finite(quality, "quality")
    if not 0.0 <= value <= 1.0:
        raise Refusal("quality", "A vapour share is between 0 and 1.", field="quality")
    return value


def below_triple(fluid: Fluid, pressure_pa: float) -> Refusal:
    """Return the refusal of a pressure [Pa] in which the fluid has no liquid."""
    if fluid is Fluid.R744:
        return Refusal(
            "dry_ice",
            f"{pressure_pa / 1e5:.2f} bar abs is below the triple point of R-744: liquid cannot exist, "
            "dry ice can plug hoses; or gauge and absolute or the gas are mixed up.",
            field="pressure_pa",
        )
    return Refusal(
        "p_too_low",
        f"{pressure_pa:.3g} Pa abs is a vacuum in which {fluid} has no boiling temperature.",
        field="pressure_pa",
    )


def check_window(fluid: Fluid, pressure_pa: float, temperature_k: float) -> None:
    """Refuse a pressure [Pa] or temperature [K] outside the published limits of the fluid's equation."""
    window = WINDOWS[fluid]
    if not window.lowest_k <= temperature_k <= window.highest_k:
        raise temperature_refusal(fluid, temperature_k, window)
    check_pressure(fluid, pressure_pa)


def check_pressure(fluid: Fluid, pressure_pa: float) -> None:
    """Refuse a pressure [Pa] with ``p_range`` outside the published limits."""
    highest = WINDOWS[fluid].highest_pa
    if not 0.0 < pressure_pa <= highest:
        raise Refusal(
            "p_range",
            f"{pressure_pa / 1e5:.3g} bar abs is outside what is known of {fluid} "
            f"(above 0, to {highest / 1e5:.0f} bar).",
            field="pressure_pa",
        )


def inside(fluid: Fluid, state: State) -> State:
    """Return a state whose temperature lies inside the published limits, or refuse with ``T_range``."""
    window = WINDOWS[fluid]
    if not window.lowest_k <= state.temperature_k <= window.highest_k:
        raise temperature_refusal(fluid, state.temperature_k, window)
    return state


def temperature_refusal(fluid: Fluid, temperature_k: float, window: Window) -> Refusal:
    """Return the refusal of a temperature [K] outside the published limits."""
    return Refusal(
        "T_range",
        f"{celsius(temperature_k)} is outside what is known of {fluid} "
        f"({celsius(window.lowest_k)} to {celsius(window.highest_k)}).",
        field="temperature_k",
        details={"lowest_k": window.lowest_k, "highest_k": window.highest_k},
    )


def celsius(temperature_k: float) -> str:
    """Return a temperature [K] as people read it."""
    return f"{temperature_k - 273.15:.1f} °C"
