"""The property library behind one door: lazy import, one state per fluid and thread, our own refusals."""

from __future__ import annotations

import functools
import math
import threading
from typing import Any, NamedTuple

from shopcool.engineering.errors import Refusal
from shopcool.engineering.fluids import WINDOWS, Fluid, fluid_named


@functools.cache
def library() -> Any:
    """Return the property library, loaded once: it takes about two seconds and 80 MB."""
    from CoolProp import CoolProp

    return CoolProp


class _Kept(threading.local):
    """The states of one thread."""

    def __init__(self) -> None:
        self.states: dict[Fluid, Any] = {}


_kept = _Kept()


def kept_state(fluid: Fluid) -> Any:
    """Return this thread's reusable state of a fluid; a shared one gives wrong values without an error."""
    kept = _kept.states.get(fluid)
    if kept is None:
        kept = _kept.states[fluid] = library().AbstractState("HEOS", WINDOWS[fluid].library_name)
    return kept


def warm_up(fluids: tuple[Fluid, ...] = tuple(Fluid)) -> None:
    """Load the property library and this thread's states, so that the first question of a worker is quick."""
    for fluid in fluids:
        kept_state(fluid)


def library_version() -> str:
    """Return name, version and revision of the property library, for the record of a result."""
    used = library()
    version = used.get_global_param_string("version")
    return f"CoolProp {version} {used.get_global_param_string('gitrevision')[:12]}"


class State(NamedTuple):
    """A state of a fluid: p [Pa], T [K], ρ [kg/m³], h [J/kg], s [J/(kg K)], quality (−1 outside the dome)."""

    pressure_pa: float
    temperature_k: float
    density_kg_m3: float
    enthalpy_j_kg: float
    entropy_j_kg_k: float
    quality: float


def answer(fluid: Fluid, inputs: str, first: float, second: float) -> State:
    """Update this thread's state with a pair of inputs by its library name and read it, or refuse."""
    kept = kept_state(fluid)
    try:
        kept.update(_input_pair(inputs), first, second)
        state = State(kept.p(), kept.T(), kept.rhomass(), kept.hmass(), kept.smass(), kept.Q())
    except (ValueError, RuntimeError, ArithmeticError):
        raise _no_state(fluid) from None
    if not (
        math.isfinite(state.enthalpy_j_kg + state.temperature_k) and 0.0 < state.density_kg_m3 < math.inf
    ):
        raise _no_state(fluid)
    return state


@functools.cache
def _input_pair(name: str) -> int:
    return int(getattr(library(), name))


def _no_state(fluid: Fluid) -> Refusal:
    return Refusal("no_state", f"No state of {fluid} fits these values: check number, unit and refrigerant.")


def molar_mass_kg_mol(fluid: Fluid) -> float:
    """Return the molar mass [kg/mol]."""
    return float(kept_state(fluid_named(fluid)).molar_mass())


@functools.cache
def critical_pressure_pa(fluid: Fluid) -> float:
    """Return the critical pressure [Pa]."""
    return float(kept_state(fluid_named(fluid)).p_critical())


@functools.cache
def critical_temperature_k(fluid: Fluid) -> float:
    """Return the critical temperature [K]."""
    return float(kept_state(fluid_named(fluid)).T_critical())


def equation_of_state(fluid: Fluid) -> str:
    """Return authors and year of the equation of state behind a fluid."""
    return WINDOWS[fluid_named(fluid)].equation
