"""The oil in a circuit over its visits: what came out, what went in, an estimate and what it assumes."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from jobs.choices import StepKind
from jobs.steps.oil_bottle import start_reading_m3
from jobs.steps.values import Values

Told = tuple[StepKind, Values]


@dataclass(frozen=True)
class VisitOil:
    """What one visit took out of a circuit and put in [m³]; ``unknown`` says what nobody measured.

    ``was_emptied``: all oil was lost or flushed out, so that only what was added afterwards is inside.
    """

    job_number: str
    removed_m3: float
    added_m3: float
    unknown: tuple[str, ...] = ()
    was_emptied: bool = False

    @property
    def changed_m3(self) -> float:
        """What the visit changed, as far as it was measured."""
        return self.added_m3 - self.removed_m3


@dataclass(frozen=True)
class OilTotal:
    """All visits together [m³], oldest first."""

    visits: tuple[VisitOil, ...]
    label_m3: float | None

    @property
    def removed_m3(self) -> float:
        """What came out."""
        return sum(visit.removed_m3 for visit in self.visits)

    @property
    def added_m3(self) -> float:
        """What went in."""
        return sum(visit.added_m3 for visit in self.visits)

    @property
    def estimate_m3(self) -> float | None:
        """The label's amount with everything that was measured since, never below nothing.

        None while neither the label's amount is known nor a visit started from an empty circuit.
        """
        held = self.label_m3
        for visit in self.visits:
            held = held_after(held, visit)
        return held

    @property
    def unknown(self) -> tuple[str, ...]:
        """What nobody measured, by visit; what came before an empty circuit no longer matters."""
        emptied = [place for place, visit in enumerate(self.visits) if visit.was_emptied]
        since = self.visits[emptied[-1] :] if emptied else self.visits
        return tuple(f"{visit.job_number}: {what}" for visit in since for what in visit.unknown)


def held_after(before_m3: float | None, visit: VisitOil) -> float | None:
    """Return what a circuit holds after a visit [m³], from what it held before, None while unknown."""
    if visit.was_emptied:
        return visit.added_m3
    return None if before_m3 is None else max(before_m3 + visit.changed_m3, 0.0)


def assumptions() -> tuple[str, ...]:
    """Return what the estimate takes for granted."""
    return (
        _("The circuit held what its label says when it first came."),
        _("Nothing was lost with leaks or in hoses, and nobody else added or drained oil."),
        _("Oil inside new parts counts only as far as it was entered."),
    )


def visit_oil(job_number: str, told: Sequence[Told]) -> VisitOil:
    """Return what the standing records of one visit say about its oil."""
    recovered = recovered_m3(told)
    parts = [values for kind, values in told if kind is StepKind.PARTS]
    oils = [values for kind, values in told if kind is StepKind.OIL]
    emptied = any(values.yes("emptied") for values in oils)
    unknown = []
    if recovered is None and not emptied:
        unknown.append(_("the oil that came out with the refrigerant"))
    if any(not values.has("drained_oil") for values in parts) and not emptied:
        unknown.append(_("the oil in the old parts"))
    if any(values.yes("compressor") for values in parts):
        unknown.append(_("the oil that the new compressor brought"))
    drained = sum(values.si("drained_oil", 0.0) for values in parts)
    added = sum(values.si("amount", 0.0) for values in oils)
    return VisitOil(job_number, (recovered or 0.0) + drained, added, tuple(unknown), emptied)


def recovered_m3(told: Iterable[Told]) -> float | None:
    """Return the oil that came out with the refrigerant [m³]; nothing recovered brings no oil."""
    listed = list(told)
    pulls = [values for kind, values in listed if kind is StepKind.RECOVERY]
    if not pulls:
        return 0.0
    bottles = [values for kind, values in listed if kind is StepKind.OIL_BOTTLE]
    start = start_reading_m3(bottles[-1] if bottles else None)
    ends = [end for values in pulls if (end := values.si("oil_end")) is not None]
    return max(ends) - start if ends and start is not None else None


def oil_total(label_m3: float | None, visits: Iterable[tuple[str, StepKind, Values]]) -> OilTotal:
    """Return the total of records, oldest first, each with the job it belongs to."""
    by_job: dict[str, list[Told]] = {}
    for job_number, kind, values in visits:
        by_job.setdefault(job_number, []).append((kind, values))
    told = (visit_oil(number, records) for number, records in by_job.items())
    counted = tuple(
        visit for visit in told if visit.removed_m3 or visit.added_m3 or visit.unknown or visit.was_emptied
    )
    return OilTotal(counted, label_m3)
