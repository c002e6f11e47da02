"""The diagnosis as a page shows it: the likeliest causes with their evidence, and what to measure next."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.translation import gettext as _

from jobs.steps.causes import diagnosis_of
from jobs.steps.context import StepContext
from jobs.steps.cycle import seen_of
from jobs.steps.values import Values
from shopcool.engineering.diagnosis import Diagnosis, Evidence, Fact, RankedCause, Sign
from shopcool.engineering.errors import Refusal
from shopcool.engineering.quantities import Kind

#: How many causes stand open; the others are one tap away.
OPEN_CAUSES = 3
_KINDS = {
    Fact.APPROACH: Kind.TEMPERATURE_DIFFERENCE,
    Fact.SUPERHEAT: Kind.TEMPERATURE_DIFFERENCE,
    Fact.SUBCOOLING: Kind.TEMPERATURE_DIFFERENCE,
    Fact.VENT: Kind.TEMPERATURE_DIFFERENCE,
    Fact.EVAPORATING: Kind.TEMPERATURE,
    Fact.STATIC_EXCESS: Kind.PRESSURE_DIFFERENCE,
    Fact.CHARGE_SHARE: Kind.FRACTION,
}


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
    sources: tuple[str, ...] = ()


def diagnosis_shown(values: Values, context: StepContext, *, after_charge: bool) -> DiagnosisShown | None:
    """Return the diagnosis of a running reading, None at rest and for gases that are not computed."""
    seen = seen_of(values, context)
    if seen is None or seen.must_stop:
        return None
    found = diagnosis_of(values, seen, context, after_charge=after_charge)
    if isinstance(found, Refusal):
        return DiagnosisShown(refusal=found.message)
    causes = tuple(_cause(place, ranked, context) for place, ranked in enumerate(found.causes, start=1))
    return DiagnosisShown(
        leading=causes[:OPEN_CAUSES],
        others=causes[OPEN_CAUSES:],
        next_measurement=found.next_measurement.sentence,
        remarks=tuple(notice.message for notice in found.warnings),
        sources=_sources(found),
    )


def _cause(place: int, ranked: RankedCause, context: StepContext) -> CauseShown:
    return CauseShown(
        place=place,
        name=ranked.name,
        speaks_for=tuple(_evidence(piece, context) for piece in ranked.evidence_for),
        speaks_against=tuple(_evidence(piece, context) for piece in ranked.evidence_against),
        withheld=ranked.withheld,
    )


def _evidence(piece: Evidence, context: StepContext) -> str:
    """Return a piece of evidence with the limit that it broke, in the shop's unit."""
    if piece.limit is None or isinstance(piece.about, Sign):
        return piece.sentence
    kind = _KINDS.get(piece.about)
    limit = f"{piece.limit:g}" if kind is None else context.shown(piece.limit, kind)
    return _("%(evidence)s (limit %(limit)s)") % {"evidence": piece.sentence, "limit": limit}


def _sources(found: Diagnosis) -> tuple[str, ...]:
    """Return where patterns and limits come from, each once."""
    pieces = (
        piece
        for ranked in found.causes
        for piece in (*ranked.evidence_for, *ranked.evidence_against)
        if piece.source
    )
    return tuple(dict.fromkeys((found.source, *(piece.source for piece in pieces))))
