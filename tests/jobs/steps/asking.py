"""Ask a step's rules in one line, without a database."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

from equipment.choices import PieceKind
from jobs.choices import StepKind
from jobs.procedure import Outcome, case_of
from jobs.steps.answers import Answer
from jobs.steps.context import Earlier, PieceChoice, StepContext
from jobs.steps.oil_on_hand import HeldOil, LotChoice, OilFacts
from jobs.steps.reading import read_values
from jobs.steps.registry import step_of
from jobs.steps.values import Values
from shopcool.engineering.quantities import STANDARD_ATMOSPHERE_PA
from shopcool.shop.units import Units
from tests.jobs.visit import ELECTRIC, Visit

MONDAY = date(2026, 3, 2)
MACHINE = PieceChoice(1, "M-1", "Machine", PieceKind.MACHINE, connected=True, cleared=True)
CYLINDER = PieceChoice(
    2,
    "C-9",
    "Marked cylinder",
    PieceKind.RECOVERY_CYLINDER,
    connected=True,
    cleared=True,
    is_marked_for_contaminated=True,
)
POE_INJECTOR = PieceChoice(
    3,
    "I-1",
    "Injector",
    PieceKind.INJECTOR,
    connected=True,
    cleared=True,
    lubricant="POE",
    lubricant_grade="SP-A2",
)
PAG_INJECTOR = PieceChoice(4, "I-2", "Injector", PieceKind.INJECTOR, lubricant="PAG")
#: 60 ml at 0.96 g/ml in the injector; a lot of the circuit's oil on the shelf, and one that is too old.
OIL = OilFacts(
    injectors={3: HeldOil(60e-6, 57.6e-3)},
    lots=(
        LotChoice(11, "L-1", "POE", "SP-A2", 190e-6, 182.4e-3),
        LotChoice(12, "L-2", "POE", "SP-A2", 250e-6, 240e-3, why_not="L-2 has been open for 31 days."),
    ),
)


def context(
    visit: Visit | None = None, *, atmosphere_pa: float = STANDARD_ATMOSPHERE_PA, **changes: Any
) -> StepContext:
    """Return what the rules know about a visit, an electric car's at sea level unless told otherwise."""
    visit = visit or Visit(ELECTRIC)
    known = StepContext(
        case=case_of(visit.facts, visit.progress),
        today=MONDAY,
        tolerance_kg=0.02,
        working_voltage_v=400.0,
        units=Units(atmosphere_pa=atmosphere_pa),
        pieces=(MACHINE, CYLINDER, POE_INJECTOR, PAG_INJECTOR),
        oil=OIL,
    )
    return replace(known, **changes)


def values(kind: StepKind, raw: dict[str, Any], known: StepContext | None = None) -> Values:
    """Return typed answers as they are kept."""
    return read_values(step_of(kind).fields, raw, known or context())


def ask(kind: StepKind, raw: dict[str, Any], known: StepContext | None = None) -> Answer:
    """Return what the rules say about typed answers."""
    known = known or context()
    return step_of(kind).evaluate(values(kind, raw, known), known)


def earlier(kind: StepKind, raw: dict[str, Any], position: int = 1) -> Earlier:
    """Return an earlier record of the same job."""
    return Earlier(kind, position, Outcome.DONE, values(kind, raw))
