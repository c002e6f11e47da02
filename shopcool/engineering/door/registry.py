"""Every computation that the door offers, one line each."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from shopcool.engineering import (
    carry_over,
    chart,
    cycle,
    cylinder,
    gwp,
    hose,
    insulation,
    pressure_hold,
    recovery,
    saturation,
    static_pressure,
    vacuum_hold,
    vin,
)
from shopcool.engineering.door import questions
from shopcool.engineering.door.diagnosis_question import diagnosis


@dataclass(frozen=True)
class Computation:
    """A computation by its name on the shell, shorter names of options, and its page of the documentation."""

    name: str
    function: Callable[..., object]
    short: tuple[tuple[str, str], ...] = ()
    documented_in: str = ""

    @property
    def page(self) -> str:
        """Return the name of its page in ``docs/engineering``."""
        return self.documented_in or self.name

    @property
    def summary(self) -> str:
        """Return the first line of the function's documentation."""
        return (self.function.__doc__ or "").strip().splitlines()[0]


_SIDES = (
    ("low", "low-pressure"),
    ("high", "high-pressure"),
    ("suction", "suction-temperature"),
    ("liquid", "liquid-temperature"),
    ("discharge", "discharge-temperature"),
    ("ambient", "ambient-temperature"),
)

COMPUTATIONS: tuple[Computation, ...] = (
    Computation("convert", questions.convert, documented_in="quantities"),
    Computation("saturation", saturation.saturation),
    Computation("cycle", cycle.cycle, _SIDES),
    Computation("chart", chart.chart),
    Computation("static-pressure", static_pressure.static_pressure),
    Computation("hose", questions.hose),
    Computation("hose-calibration", hose.hose_volume_by_weighing, documented_in="hose"),
    Computation("vacuum-hold", vacuum_hold.analyse_hold),
    Computation("vacuum-needle", vacuum_hold.needle_hold, documented_in="vacuum-hold"),
    Computation("leak-rate", questions.leak_rate, documented_in="vacuum-hold"),
    Computation("pressure-hold", pressure_hold.pressure_hold),
    Computation("cylinder", cylinder.cylinder),
    Computation("carry-over", carry_over.carry_over),
    Computation("insulation", questions.insulation_test),
    Computation("insulation-floor", insulation.floor, documented_in="insulation"),
    Computation("insulation-tester", insulation.loaded_tester, documented_in="insulation"),
    Computation("insulation-temperature", insulation.at_reference, documented_in="insulation"),
    Computation("insulation-ratios", insulation.ratios, documented_in="insulation"),
    Computation("insulation-trend", questions.insulation_trend, documented_in="insulation"),
    Computation("oil-sample", questions.oil_sample, documented_in="insulation"),
    Computation("oil-balance", questions.oil_balance),
    Computation("recovery", recovery.recovery),
    Computation("loss-per-year", recovery.loss_per_year, documented_in="recovery"),
    Computation("inventory", questions.inventory),
    Computation("gwp", gwp.co2_equivalent),
    Computation("diagnosis", diagnosis),
    Computation("vin", vin.check_vin),
)
