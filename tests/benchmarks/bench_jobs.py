"""The answer at the car: what the rules say while somebody types, and the diagram drawn beside it."""

from __future__ import annotations

from datetime import date

import django

django.setup()

from django.template.loader import render_to_string  # noqa: E402

from jobs.choices import ServiceKind, StepKind  # noqa: E402
from jobs.pages.diagnosis import diagnosis_shown  # noqa: E402
from jobs.pages.diagram import diagram_of  # noqa: E402
from jobs.pages.meaning import Meaning  # noqa: E402
from jobs.procedure import ProcedureFacts, Progress, case_of  # noqa: E402
from jobs.steps.context import StepContext  # noqa: E402
from jobs.steps.cycle import cycle_of  # noqa: E402
from jobs.steps.reading import read_values  # noqa: E402
from jobs.steps.registry import step_of  # noqa: E402
from jobs.steps.values import Values  # noqa: E402
from shopcool.shop.units import Units  # noqa: E402
from shopcool.vehicles.choices import Drive, Lubricant, Metering, Refrigerant  # noqa: E402
from tests.benchmarks import Result, best_seconds  # noqa: E402

#: The page has 150 ms for the whole answer; its computation and drawing may take these parts of it.
ANSWER_S, DIAGRAM_S = 0.030, 0.080
READINGS = {
    "state": "RUNNING", "low": "18 psi", "high": "150 psi", "ambient": "30 °C", "suction": "16 °C",
    "liquid": "42 °C", "discharge": "75 °C", "vent": "14 °C", "mode": "cabin_cooling", "steady": "10",
}  # fmt: skip


def benchmarks() -> list[Result]:
    """Return the measurements of a step's answer and of its diagram."""
    context = _context()
    values = _read(context)
    return [_answer(context), _causes(values, context), _diagram(values, context)]


def _context() -> StepContext:
    facts = ProcedureFacts(
        service=ServiceKind.AC_SERVICE,
        refrigerant=Refrigerant.R1234YF,
        lubricant=Lubricant.POE,
        drive=Drive.ELECTRIC_HV,
        charge_kg=0.55,
    )
    case = case_of(facts, Progress(status="CHECKED_IN"))
    return StepContext(case=case, today=date(2026, 3, 2), metering=Metering.EXPANSION_VALVE)


def _read(context: StepContext) -> Values:
    return read_values(step_of(StepKind.READINGS_BEFORE).fields, READINGS, context)


def _answer(context: StepContext) -> Result:
    def answer() -> object:
        return step_of(StepKind.READINGS_BEFORE).evaluate(_read(context), context)

    seconds = best_seconds(answer, times=5, rounds=10)
    return {"name": "answer of a reading, over 30 ms", "ratio": seconds / ANSWER_S, "limit": 1.0}


def _causes(values: Values, context: StepContext) -> Result:
    seconds = best_seconds(lambda: diagnosis_shown(values, context, after_charge=False), times=5, rounds=10)
    return {"name": "ranked causes of a reading, over 30 ms", "ratio": seconds / ANSWER_S, "limit": 1.0}


def _diagram(values: Values, context: StepContext) -> Result:
    """Two cycles on one chart, computed and drawn as the page shows them, the chart already known."""

    def draw() -> str:
        found = cycle_of(values, context)
        if found is None:
            raise AssertionError("The benchmark's reading has no cycle to draw.")
        shown = diagram_of([("before", "Before", found), ("now", "Now", found)], Units())
        return render_to_string("jobs/_meaning.html", {"meaning": Meaning(diagram=shown)})

    draw()
    seconds = best_seconds(draw, times=3, rounds=10)
    return {"name": "diagram of two cycles, warm, over 80 ms", "ratio": seconds / DIAGRAM_S, "limit": 1.0}
