"""What stands in a step's form to begin with, because the car or an earlier record of it says so."""

from __future__ import annotations

from typing import Any

from jobs.choices import StepKind
from jobs.situation import Situation
from jobs.steps.context import StepContext
from jobs.steps.next_service import proposal
from jobs.steps.oil_rule import replaced_parts
from jobs.steps.values import Values
from jobs.steps.window import WINDOW_FIELDS

_READINGS = (StepKind.READINGS_BEFORE, StepKind.READINGS_AFTER)
_WINDOW = tuple(spec.name for spec in WINDOW_FIELDS)
#: What stays the same for a circuit from visit to visit: the vehicle maker's own values with their source,
#: and where its ports are. Each group is taken whole, from the newest record that has its first value.
_KEPT: dict[StepKind, tuple[tuple[str, ...], ...]] = {
    StepKind.READINGS_BEFORE: (("port",), _WINDOW),
    StepKind.INSULATION: (("limit", "limit_source"),),
    StepKind.EVACUATION: (("allowed_rise",),),
    StepKind.READINGS_AFTER: (("port",), _WINDOW),
    StepKind.LEAK_CHECK: (("highest", "maker_document"),),
}


def prefilled(situation: Situation, kind: StepKind) -> dict[str, Any]:
    """Return what is known already and only has to be confirmed."""
    if kind is StepKind.LABEL and situation.job.complaint:
        return {"complaint": situation.job.complaint}
    if kind is StepKind.CLOSE_OUT:
        return {"next_service_on": proposal(situation.context).day.isoformat()}
    if kind is StepKind.OIL:
        return {"replaced": replaced_parts(situation.context)}
    return kept_values(kind, situation.context)


def kept_values(kind: StepKind, context: StepContext) -> dict[str, Any]:
    """Return what earlier records of this circuit hold that still is true of it."""
    groups = _KEPT.get(kind, ())
    if not groups:
        return {}
    alike = _READINGS if kind in _READINGS else (kind,)
    found: dict[str, Any] = {}
    for values in _records(alike, context):
        for names in groups:
            if values.stored.get(names[0]):
                found |= {name: values.stored[name] for name in names if values.has(name)}
    return found


def _records(kinds: tuple[StepKind, ...], context: StepContext) -> list[Values]:
    """Return the records of these kinds, oldest first, those of this visit last."""
    before = [past.values for past in context.history if past.kind in kinds]
    own = sorted((one for one in context.earlier if one.kind in kinds), key=lambda one: one.position)
    return [*before, *(one.values for one in own)]
