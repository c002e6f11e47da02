"""The property library behind one door: lazy import, one state per fluid and thread, our own refusals."""

from __future__ import annotations

import functools
import math
import threading
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from shopcool.engineering.errors import Refusal
from shopcool.engineering.fluids import WINDOWS, Fluid, fluid_named


@functools.cache
def library() -> Any:
    """Return the property library, loaded once: it takes about two seconds and 80 MB."""
    from CoolProp import CoolProp

    return CoolProp


_kept = threading.local()


def kept_state(fluid: Fluid) -> Any:
    """Return this thread's reusable state of a fluid; a shared one gives wrong values without an error."""
    states: dict[Fluid, Any] = _kept.__dict__.setdefault("states", {})
    if fluid not in states:
        states[fluid] = library().AbstractState("HEOS", WINDOWS[fluid].library_name)
    return states[fluid]


def warm_up(fluids: tuple[Fluid, ...] = tuple(Fluid)) -> None:
    """Load the property library and this thread's states, so that the first question of a worker is quick."""
    for fluid in fluids:
        kept_state(fluid)


def library_version() -> str:
    """Return name, version and revision of the property library, for the record of a result."""
    used = library()
    version = used.get_global_param_string("version")
    return f"CoolProp {version} {used.get_global_param_string('gitrevision')[:12]}"


@dataclass(frozen=True, slots=True)
class State:
    """A state of a fluid: p [Pa], T [K], ρ [kg/m³], h [J/kg], s [J/(kg K)], quality (−1 outside the dome)."""

    pressure_pa: float
    temperature_k: float
    density_kg_m3: float
    enthalpy_j_kg: float
    entropy_j_kg_k: float
    quality: float


def answer(fluid: Fluid, update: Callable[[Any], None]) -> State:
    """Update this thread's state and read it, or refuse in our own words."""
    kept = kept_state(fluid)
    try:
        update(kept)
        state = State(kept.p(), kept.T(), kept.rhomass(), kept.hmass(), kept.smass(), kept.Q())
    except (ValueError, RuntimeError, ArithmeticError):
        raise _no_state(fluid) from None
    if not (
        math.isfinite(state.density_kg_m3 + state.enthalpy_j_kg + state.temperature_k)
        and state.density_kg_m3 > 0.0
    ):
        raise _no_state(fluid)
    return state


def _no_state(fluid: Fluid) -> Refusal:
    return Refusal("no_state", f"No state of {fluid} fits these values: check number, unit and refrigerant.")


def molar_mass_kg_mol(fluid: Fluid) -> float:
    """Return the molar mass [kg/mol]."""
    return float(kept_state(fluid_named(fluid)).molar_mass())


def critical_pressure_pa(fluid: Fluid) -> float:
    """Return the critical pressure [Pa]."""
    return float(kept_state(fluid_named(fluid)).p_critical())


def critical_temperature_k(fluid: Fluid) -> float:
    """Return the critical temperature [K]."""
    return float(kept_state(fluid_named(fluid)).T_critical())


def equation_of_state(fluid: Fluid) -> str:
    """Return authors and year of the equation of state behind a fluid."""
    return WINDOWS[fluid_named(fluid)].equation
