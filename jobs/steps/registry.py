"""Every kind of step with its fields and rules. A new kind is one module and one line here."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from jobs.choices import StepKind
from jobs.steps import (
    charge,
    close_out,
    closing_purge,
    connection,
    disconnection,
    evacuation,
    high_voltage,
    identification,
    insulation,
    label,
    leak_check,
    oil,
    oil_bottle,
    parts,
    readings_after,
    readings_before,
    recovery,
)
from jobs.steps.answers import Answer
from jobs.steps.context import StepContext
from jobs.steps.fields import FieldKind, FieldSpec
from jobs.steps.instruments import without_instruments
from jobs.steps.values import Values
from shopcool.core.figures import figures_in

RULES_VERSION = "steps-2"


@dataclass(frozen=True)
class Step:
    """What a kind of step asks for, and what its rules say about the values."""

    kind: StepKind
    fields: tuple[FieldSpec, ...]
    evaluate: Callable[[Values, StepContext], Answer]
    asked: Callable[[StepContext], tuple[FieldSpec, ...]] | None = None

    def judged(self, values: Values, context: StepContext) -> Answer:
        """Return the answer as it goes on record: with what its figures mean, for readers in other units."""
        units = context.units.listening()
        answer = self.evaluate(values, replace(context, units=units))
        texts = [text for finding in answer.findings for text in (finding.sentence, finding.limit)]
        return replace(answer, figures=figures_in(units.told or (), texts))

    def fields_for(self, context: StepContext) -> tuple[FieldSpec, ...]:
        """Return what a form shows on this job: all fields, less what is known from elsewhere."""
        return _resolved(self.asked(context) if self.asked else self.fields, context)

    def fields_at_hand(self, context: StepContext) -> tuple[FieldSpec, ...]:
        """Return all fields as they can be answered in this workshop."""
        return _resolved(self.fields, context)

    def field(self, name: str) -> FieldSpec:
        """Return a field by its name."""
        return next(spec for spec in self.fields if spec.name == name)


def _resolved(fields: tuple[FieldSpec, ...], context: StepContext) -> tuple[FieldSpec, ...]:
    """Leave out the choice of instruments where none is registered; only then are they looked up."""
    if not any(spec.kind is FieldKind.INSTRUMENT for spec in fields):
        return fields
    return without_instruments(fields, frozenset(one.kind for one in context.instruments))


STEPS: dict[StepKind, Step] = {
    kind: Step(kind, module.FIELDS, module.evaluate, getattr(module, "asked", None))
    for kind, module in {
        StepKind.LABEL: label,
        StepKind.HIGH_VOLTAGE: high_voltage,
        StepKind.IDENTIFICATION: identification,
        StepKind.OIL_BOTTLE: oil_bottle,
        StepKind.CONNECTION: connection,
        StepKind.READINGS_BEFORE: readings_before,
        StepKind.INSULATION: insulation,
        StepKind.RECOVERY: recovery,
        StepKind.PARTS: parts,
        StepKind.EVACUATION: evacuation,
        StepKind.OIL: oil,
        StepKind.CHARGE: charge,
        StepKind.READINGS_AFTER: readings_after,
        StepKind.LEAK_CHECK: leak_check,
        StepKind.DISCONNECTION: disconnection,
        StepKind.CLOSING_PURGE: closing_purge,
        StepKind.CLOSE_OUT: close_out,
    }.items()
}


def step_of(kind: StepKind | str) -> Step:
    """Return a kind of step with its fields and rules."""
    return STEPS[StepKind(kind)]
