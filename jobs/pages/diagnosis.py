"""The diagnosis as a page shows it: the likeliest causes with their evidence, and what to measure next."""

from __future__ import annotations

from dataclasses import dataclass

from jobs.steps.causes import diagnosis_of
from jobs.steps.context import StepContext
from jobs.steps.cycle import seen_of
from jobs.steps.values import Values
from shopcool.engineering.diagnosis import RankedCause
from shopcool.engineering.errors import Refusal

#: How many causes stand open; the others are one tap away.
OPEN_CAUSES = 3


@dataclass(frozen=True)
class CauseShown:
    """One cause with what speaks for and against it."""

    place: int
    name: str
    speaks_for: tuple[str, ...]
    speaks_against: tuple[str, ...]
    withheld: str


@dataclass(frozen=True)
class DiagnosisShown:
    """Ranked causes and the next measurement, or ``refusal``: why these conditions allow no grading."""

    refusal: str = ""
    leading: tuple[CauseShown, ...] = ()
    others: tuple[CauseShown, ...] = ()
    next_measurement: str = ""
    remarks: tuple[str, ...] = ()
    source: str = ""


def diagnosis_shown(values: Values, context: StepContext, *, after_charge: bool) -> DiagnosisShown | None:
    """Return the diagnosis of a running reading, None at rest and for gases that are not computed."""
    seen = seen_of(values, context)
    if seen is None or seen.must_stop:
        return None
    found = diagnosis_of(values, seen, context, after_charge=after_charge)
    if isinstance(found, Refusal):
        return DiagnosisShown(refusal=found.message)
    causes = tuple(_cause(place, ranked) for place, ranked in enumerate(found.causes, start=1))
    return DiagnosisShown(
        leading=causes[:OPEN_CAUSES],
        others=causes[OPEN_CAUSES:],
        next_measurement=found.next_measurement.sentence,
        remarks=tuple(notice.message for notice in found.warnings),
        source=found.source,
    )


def _cause(place: int, ranked: RankedCause) -> CauseShown:
    return CauseShown(
        place=place,
        name=ranked.name,
        speaks_for=tuple(piece.sentence for piece in ranked.evidence_for),
        speaks_against=tuple(piece.sentence for piece in ranked.evidence_against),
        withheld=ranked.withheld,
    )
