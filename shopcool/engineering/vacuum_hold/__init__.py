"""Vacuum hold: what the pressure rise of an evacuated, isolated system says, and what it can't say."""

from shopcool.engineering.vacuum_hold.fit import Curve, Fit
from shopcool.engineering.vacuum_hold.hold import VacuumHold, Verdict, analyse_hold
from shopcool.engineering.vacuum_hold.needle import NeedleHold, NeedleVerdict, needle_hold
from shopcool.engineering.vacuum_hold.rate import (
    LeakRange,
    leak_range,
    mass_rate_kg_year,
    molecular_ratio,
    viscous_ratio,
)
from shopcool.engineering.vacuum_hold.readings import Readings
from shopcool.engineering.vacuum_hold.repeat import HoldPair, PairVerdict, compare_holds

__all__ = [
    "Curve",
    "Fit",
    "HoldPair",
    "LeakRange",
    "NeedleHold",
    "NeedleVerdict",
    "PairVerdict",
    "Readings",
    "VacuumHold",
    "Verdict",
    "analyse_hold",
    "compare_holds",
    "leak_range",
    "mass_rate_kg_year",
    "molecular_ratio",
    "needle_hold",
    "viscous_ratio",
]
