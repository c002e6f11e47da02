"""The cycle of a running reading: what can be computed from the pressures and lines that were measured."""

from __future__ import annotations

from dataclasses import dataclass

from jobs.steps.context import StepContext
from jobs.steps.gauges import RUNNING
from jobs.steps.values import Values
from shopcool.engineering.cycle import CLAMP_K, HIGH_GAUGE_PA, LOW_GAUGE_PA, Cycle, cycle
from shopcool.engineering.errors import Refusal
from shopcool.engineering.properties import Fluid
from shopcool.engineering.saturation import AboveBoiling, Saturation, above_boiling, saturation
from shopcool.vehicles.gas import serviced_fluid_of

SUPERCRITICAL = "supercritical"


@dataclass(frozen=True)
class Side:
    """One gauge: its saturation, or why it has none, and the line beside it against saturation."""

    saturation: Saturation | None
    refusal: Refusal | None
    line: AboveBoiling | None


@dataclass(frozen=True)
class Seen:
    """A running reading as far as it was measured. ``cycle`` needs both line temperatures."""

    fluid: Fluid
    low: Side
    high: Side
    cycle: Cycle | None
    cycle_refusal: Refusal | None

    @property
    def must_stop(self) -> bool:
        """Whether a side is above a critical pressure that it must never reach; only R-744 works there."""
        codes = {side.refusal.code for side in (self.low, self.high) if side.refusal}
        return SUPERCRITICAL in codes and self.fluid is not Fluid.R744


def seen_of(values: Values, context: StepContext) -> Seen | None:
    """Return the computed side of a running reading; None at rest or for a gas that is not computed."""
    fluid = serviced_fluid_of(context.case.facts.refrigerant)
    if fluid is None or values.text("state") != RUNNING:
        return None
    found, refusal = _cycle(values, fluid)
    return Seen(
        fluid=fluid,
        low=_side(fluid, values.needed("low"), values.si("suction"), LOW_GAUGE_PA),
        high=_side(fluid, values.needed("high"), values.si("liquid"), HIGH_GAUGE_PA),
        cycle=found,
        cycle_refusal=refusal,
    )


def cycle_of(values: Values, context: StepContext) -> Cycle | None:
    """Return the cycle of a running reading for the diagram, None where it can't be drawn."""
    fluid = serviced_fluid_of(context.case.facts.refrigerant)
    if fluid is None or values.text("state") != RUNNING:
        return None
    return _cycle(values, fluid)[0]


def _cycle(values: Values, fluid: Fluid) -> tuple[Cycle | None, Refusal | None]:
    suction, liquid = values.si("suction"), values.si("liquid")
    if suction is None or liquid is None:
        return None, None
    try:
        found = cycle(
            refrigerant=fluid,
            low_pressure_pa=values.needed("low"),
            high_pressure_pa=values.needed("high"),
            suction_temperature_k=suction,
            liquid_temperature_k=liquid,
            discharge_temperature_k=values.si("discharge"),
            ambient_temperature_k=values.si("ambient"),
        )
    except Refusal as refusal:
        return None, refusal
    return found, None


def _side(fluid: Fluid, pressure_pa: float, line_k: float | None, gauge_pa: float) -> Side:
    gauge = min(gauge_pa, pressure_pa / 2.0)
    try:
        found = saturation(refrigerant=fluid, pressure_pa=pressure_pa, pressure_uncertainty_pa=gauge)
    except Refusal as refusal:
        return Side(None, refusal, None)
    if line_k is None:
        return Side(found, None, None)
    return Side(found, None, above_boiling(found, line_k, temperature_uncertainty_k=CLAMP_K))
