"""The diagnosis of a running reading: ranked causes, or the sentence that says why none are ranked."""

from __future__ import annotations

from django.utils.translation import gettext as _

from jobs.steps.answers import COMMON_PRACTICE, Finding, note
from jobs.steps.context import StepContext
from jobs.steps.cycle import Seen
from jobs.steps.observing import conditions_of, observations_of
from jobs.steps.values import Values
from shopcool.engineering.diagnosis import Cause, Diagnosis, diagnose
from shopcool.engineering.errors import Refusal


def diagnosis_of(
    values: Values, seen: Seen, context: StepContext, *, after_charge: bool
) -> Diagnosis | Refusal:
    """Return the ranked causes of a running reading, or why these conditions allow no grading."""
    try:
        conditions = conditions_of(values, context)
        return diagnose(observations_of(values, seen, context, after_charge=after_charge), conditions)
    except Refusal as refusal:
        return refusal


def diagnosis_findings(found: Diagnosis | Refusal) -> list[Finding]:
    """Return the two leading causes and the next measurement; never advice to add or take refrigerant."""
    if isinstance(found, Refusal):
        sentence = _("Not graded: %(reason)s") % {"reason": found.message}
        return [note(f"not_graded_{found.code}", sentence, source=COMMON_PRACTICE)]
    first, second = found.causes[:2]
    words = {"first": first.name, "second": second.name, "next": found.next_measurement.sentence}
    return [
        note("probable_causes", _leaders(first.cause, second.cause) % words, source=found.source),
        note("weigh", _("Pressures never decide about adding refrigerant: recover and weigh.")),
    ]


def _leaders(first: Cause, second: Cause) -> str:
    if first is Cause.NOTHING_FOUND:
        return _("Nothing stands out in these readings. If it cools badly all the same: %(next)s")
    if second is Cause.NOTHING_FOUND:
        return _("Explains the readings best: %(first)s. Next: %(next)s")
    return _("Explains the readings best: %(first)s; then %(second)s. Next: %(next)s")
