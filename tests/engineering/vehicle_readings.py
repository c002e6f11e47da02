"""Readings of vehicles that the tests of the diagnosis share."""

from __future__ import annotations

from dataclasses import replace

from shopcool.engineering.diagnosis import (
    Cause,
    Conditions,
    Diagnosis,
    Drive,
    Measured,
    Metering,
    Mode,
    Observations,
    Sign,
)
from shopcool.engineering.fluids import Fluid
from shopcool.engineering.properties import saturation_temperature_k
from shopcool.engineering.quantities import Kind, from_unit

AMBIENT_K = 303.15
ORDINARY = Conditions(
    mode=Mode.CABIN_COOLING,
    drive=Drive.FIXED_BELT,
    metering=Metering.EXPANSION_VALVE,
    ambient_k=AMBIENT_K,
    steady_s=600,
    doors_open=True,
    blower_at_maximum=True,
    recirculating=True,
)
UNNOTED = replace(ORDINARY, ambient_k=None, doors_open=None, blower_at_maximum=None, recirculating=None)


def psig(value: float, basis: str = "gauge") -> float:
    return from_unit(value, "psi", Kind.PRESSURE, basis=basis)


def boiling(pressure_pa: float, fluid: Fluid = Fluid.R134A) -> Measured:
    return Measured(saturation_temperature_k(fluid, pressure_pa), 0.5)


def running(low_pa: float, high_pa: float, **more: object) -> Observations:
    """Two gauges on R-134a, as temperatures and ratio, and whatever else was seen."""
    seen = Observations(
        condensing_k=boiling(high_pa), evaporating_k=boiling(low_pa), ratio=Measured(high_pa / low_pa, 0.1)
    )
    return replace(seen, **more)


def pattern(
    approach: float,
    superheat: float,
    subcooling: float,
    evaporating_c: float,
    vent: float,
    ratio: float = 5.0,
) -> Observations:
    evaporating = evaporating_c + 273.15
    return Observations(
        condensing_k=Measured(AMBIENT_K + approach, 0.5),
        superheat_k=Measured(superheat, 0.8),
        subcooling_k=Measured(subcooling, 0.8),
        evaporating_k=Measured(evaporating, 0.5),
        vent_k=Measured(evaporating + vent, 0.5),
        ratio=Measured(ratio, 0.1),
    )


def first(diagnosis: Diagnosis) -> Cause:
    return diagnosis.causes[0].cause


def place(diagnosis: Diagnosis, *causes: Cause) -> int:
    """Return the place from 1 of the first of these causes."""
    ranked = [entry.cause for entry in diagnosis.causes]
    return 1 + min(ranked.index(cause) for cause in causes)


def score(diagnosis: Diagnosis, cause: Cause) -> float:
    return next(entry.score for entry in diagnosis.causes if entry.cause is cause)


# One expansion valve, fixed compressor just replaced, high side 120 psi, low side 20 inches of vacuum.
DEEP_VACUUM = running(
    from_unit(20, "inHg", Kind.PRESSURE, basis="vacuum"), psig(120), signs={Sign.LOW_SIDE_IN_VACUUM: True}
)
AIR_CONTAMINATED = running(psig(45), psig(400))
AIR_FREE = running(psig(32), psig(165))
BOTH_SEVENTY = running(psig(70), psig(70), signs={Sign.PRESSURES_EQUAL: True})
FLOODED_HIGH_SIDE = running(psig(33), psig(330))
