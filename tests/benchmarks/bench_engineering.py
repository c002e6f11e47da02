"""The computations cost little more than the property library itself, and their import next to nothing."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable

from shopcool.engineering import properties
from shopcool.engineering.chart import chart
from shopcool.engineering.cycle import cycle
from shopcool.engineering.fluids import WINDOWS
from shopcool.engineering.properties import SERVICE_REFRIGERANTS, Fluid
from tests.benchmarks import Result, best_ratio, best_seconds

COLD_CHART_S, CACHED_CHART_S, IMPORT_S = 0.025, 0.001, 0.150
LOW_PA, HIGH_PA, SUCTION_K, LIQUID_K = 2e5, 14e5, 268.0, 320.0
# What the package itself costs: the interpreter and NumPy are there anyway.
IMPORT = """
import time, numpy
started = time.process_time()
import shopcool.engineering.door.registry
print(time.process_time() - started)
"""


def benchmarks() -> list[Result]:
    """Return the measurements of the computations."""
    properties.warm_up()
    return [
        *(_cycle(fluid) for fluid in (Fluid.R134A, Fluid.R1234YF, Fluid.R152A)),
        *(_cold_chart(fluid) for fluid in SERVICE_REFRIGERANTS),
        _cached_chart(),
        _import(),
    ]


def _cycle(fluid: Fluid) -> Result:
    def ours() -> object:
        return cycle(
            refrigerant=fluid,
            low_pressure_pa=LOW_PA,
            high_pressure_pa=HIGH_PA,
            suction_temperature_k=SUCTION_K,
            liquid_temperature_k=LIQUID_K,
        )

    ratio = best_ratio(ours, _bare_cycle(fluid), times=100, rounds=40)
    return {"name": f"cycle of {fluid} over its bare state updates", "ratio": ratio, "limit": 1.5}


def _bare_cycle(fluid: Fluid) -> Callable[[], object]:
    """Return the state updates of the same cycle, each state read, straight at the library."""
    from CoolProp import CoolProp

    state = CoolProp.AbstractState("HEOS", WINDOWS[fluid].library_name)
    pressure_quality, pressure_temperature = CoolProp.PQ_INPUTS, CoolProp.PT_INPUTS
    pressure_entropy = CoolProp.PSmass_INPUTS

    def read() -> tuple[float, ...]:
        return state.p(), state.T(), state.rhomass(), state.hmass(), state.smass(), state.Q()

    def bare() -> tuple[float, ...]:
        for pressure in (LOW_PA, HIGH_PA):
            for quality in (0.0, 1.0):
                state.update(pressure_quality, pressure, quality)
                read()
        state.update(pressure_temperature, HIGH_PA, LIQUID_K)
        read()
        state.update(pressure_temperature, LOW_PA, SUCTION_K)
        entropy = read()[4]
        state.update(pressure_entropy, HIGH_PA, entropy)
        return read()

    return bare


def _cold_chart(fluid: Fluid) -> Result:
    seconds = best_seconds(lambda: chart.__wrapped__(fluid), times=1, rounds=10)
    return {"name": f"chart of {fluid}, cold, over 25 ms", "ratio": seconds / COLD_CHART_S, "limit": 1.0}


def _cached_chart() -> Result:
    chart(Fluid.R134A)
    seconds = best_seconds(lambda: chart(Fluid.R134A), times=100, rounds=10)
    return {"name": "chart, cached, over 1 ms", "ratio": seconds / CACHED_CHART_S, "limit": 1.0}


def _import() -> Result:
    seconds = min(_import_seconds() for _ in range(15))
    return {
        "name": "import of the package without the property library, over 150 ms",
        "ratio": seconds / IMPORT_S,
        "limit": 1.0,
    }


def _import_seconds() -> float:
    finished = subprocess.run([sys.executable, "-c", IMPORT], capture_output=True, text=True, check=True)
    return float(finished.stdout)
