"""What values mean beyond one answer: diagram of the cycles, ranked causes, balance of a charge."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.translation import gettext as _

from jobs.choices import StepKind
from jobs.pages.balance import Balance, balance_of
from jobs.pages.diagnosis import DiagnosisShown, diagnosis_shown
from jobs.pages.diagram import Diagram, diagram_of
from jobs.situation import Situation
from jobs.steps.context import StepContext
from jobs.steps.cycle import cycle_of
from jobs.steps.gauges import RUNNING
from jobs.steps.values import Values
from shopcool.engineering.cycle import Cycle

READINGS = (StepKind.READINGS_BEFORE, StepKind.READINGS_AFTER)


@dataclass(frozen=True)
class Meaning:
    """A diagram, a diagnosis and the balance of a charge, each None where there is nothing to show."""

    diagram: Diagram | None = None
    diagnosis: DiagnosisShown | None = None
    balance: Balance | None = None


def meaning_of_typed(situation: Situation, kind: StepKind, values: Values) -> Meaning | None:
    """Return what is drawn and ranked beside an answer while it is typed; None for most steps."""
    if kind is StepKind.CHARGE:
        return Meaning(balance=balance_of(values, situation.context))
    if kind not in READINGS:
        return None
    context = situation.context
    cycles = _on_record(context, kind)
    now = cycle_of(values, context)
    if now is not None:
        cycles.append(("now", _("Now"), now))
    diagnosis = diagnosis_shown(values, context, after_charge=kind is StepKind.READINGS_AFTER)
    return Meaning(diagram_of(cycles, context.units), diagnosis)


def meaning_on_record(situation: Situation, kind: StepKind | None = None) -> Meaning | None:
    """Return what the job's readings mean, up to one of their steps; None without a running reading."""
    if kind is not None and kind not in READINGS:
        return None
    context = situation.context
    newest = _newest(context, kind)
    if newest is None:
        return None
    diagnosis = diagnosis_shown(newest[1], context, after_charge=newest[0] is StepKind.READINGS_AFTER)
    return Meaning(diagram_on_record(situation, kind), diagnosis)


def diagram_on_record(situation: Situation, kind: StepKind | None = None) -> Diagram | None:
    """Return the diagram of the job's cycles, up to one of their steps; None without a cycle."""
    context = situation.context
    cycles = _on_record(context, kind or StepKind.READINGS_AFTER, until_kind=True)
    return diagram_of(cycles, context.units)


def _on_record(
    context: StepContext, kind: StepKind, *, until_kind: bool = False
) -> list[tuple[str, str, Cycle]]:
    """Return the cycles on record: before, and after when that is asked for."""
    words = {
        StepKind.READINGS_BEFORE: ("before", _("Before")),
        StepKind.READINGS_AFTER: ("after", _("After")),
    }
    kinds = READINGS if kind is StepKind.READINGS_AFTER and until_kind else READINGS[:1]
    found = ((one, _latest_cycle(context, one)) for one in kinds)
    return [(*words[one], drawn) for one, drawn in found if drawn is not None]


def _latest_cycle(context: StepContext, kind: StepKind) -> Cycle | None:
    cycles = (cycle_of(values, context) for values in reversed(_running(context, kind)))
    return next((found for found in cycles if found is not None), None)


def _newest(context: StepContext, kind: StepKind | None) -> tuple[StepKind, Values] | None:
    kinds = READINGS[:1] if kind is StepKind.READINGS_BEFORE else READINGS
    for one in reversed(kinds):
        readings = _running(context, one)
        if readings:
            return one, readings[-1]
    return None


def _running(context: StepContext, kind: StepKind) -> list[Values]:
    return [values for values in context.since(kind, 0) if values.text("state") == RUNNING]
