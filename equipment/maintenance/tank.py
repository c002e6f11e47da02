"""A tank or cylinder at rest: more pressure than its refrigerant has is air or another gas. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from equipment.errors import WorkImpossible
from equipment.maintenance.choices import WorkOutcome
from equipment.maintenance.judging import Judgement
from shopcool.engineering.errors import Refusal
from shopcool.engineering.quantities import Kind
from shopcool.engineering.static_pressure import StaticPressure, Verdict, static_pressure
from shopcool.shop.units import Units
from shopcool.vehicles.choices import Refrigerant
from shopcool.vehicles.gas import fluid_of

#: Half of what a thermometer on the metal and a gauge of class 1.6 may be off, as a standard uncertainty.
METAL_K, GAUGE_PA = 1.0, 8e3
_ITS_FIELD = {"temperature_k": "temperature"}


@dataclass(frozen=True)
class TankReadings:
    """Pressure, absolute [Pa], and temperature of the metal [K] after hours without work."""

    pressure_pa: float
    temperature_k: float


@dataclass(frozen=True)
class Reached:
    """Where gas of a tank may have gone since the check before: jobs by number, other tanks by code."""

    jobs: Sequence[str] = ()
    tanks: Sequence[str] = ()


def judge_tank(gas: Refrigerant, readings: TankReadings, reached: Reached, units: Units) -> Judgement:
    """Return whether a tank holds more than its refrigerant, and if so where that may have gone.

    Raises WorkImpossible where the readings say nothing.
    """
    units = units.listening()
    found = _found(gas, readings, units)
    words = {
        "pressure": units.shown(readings.pressure_pa, Kind.PRESSURE),
        "saturation": units.shown(found.saturation_pressure_pa, Kind.PRESSURE),
        "excess": units.shown(found.excess_pa, Kind.PRESSURE_DIFFERENCE),
        "spread": units.shown(found.uncertainty_pa, Kind.PRESSURE_DIFFERENCE),
        "gas": gas.label,
    }
    if found.verdict is Verdict.CONSISTENT:
        sentence = _(
            "%(pressure)s, %(gas)s has %(saturation)s ± %(spread)s at this temperature: no air shows in it."
        )
        return Judgement(WorkOutcome.PASSED, (sentence % words,), tuple(units.told or ()))
    if found.excess_pa < 0:
        sentence = _(
            "%(pressure)s is less than the %(saturation)s of %(gas)s: no liquid is left, it is not at one "
            "temperature yet, or gauge and absolute are mixed up. This says nothing about air."
        )
        raise WorkImpossible(sentence % words, field="pressure")
    sentence = _(
        "%(excess)s more than the %(saturation)s of %(gas)s: air or another gas is in the tank. Charge no "
        "car from it: use an identifier, then purge or send it away."
    )
    findings = (sentence % words, *_suspect(reached))
    return Judgement(WorkOutcome.FAILED, findings, tuple(units.told or ()))


def _found(gas: Refrigerant, readings: TankReadings, units: Units) -> StaticPressure:
    fluid = fluid_of(gas)
    if fluid is None:
        raise WorkImpossible(_("Say on the page of the piece which refrigerant it holds."))
    try:
        return static_pressure(
            refrigerant=fluid,
            pressure_pa=readings.pressure_pa,
            temperature_k=readings.temperature_k,
            pressure_uncertainty_pa=GAUGE_PA,
            temperature_uncertainty_k=METAL_K,
            atmosphere_pa=units.atmosphere_pa,
        )
    except Refusal as error:
        raise WorkImpossible(error.message, field=_ITS_FIELD.get(error.field, "pressure")) from error


def _suspect(reached: Reached) -> Iterator[str]:
    if reached.jobs:
        sentence = _("It was on these jobs since the check before, which may have got of it: %(jobs)s.")
        yield sentence % {"jobs": ", ".join(reached.jobs)}
    if reached.tanks:
        sentence = _("Since the check before it was filled into %(tanks)s: look for air there, too.")
        yield sentence % {"tanks": ", ".join(reached.tanks)}
