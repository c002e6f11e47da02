"""The oil in a circuit as the page of its vehicle shows it: the estimate, what it assumes, what happened."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.utils.translation import gettext as _

from jobs.choices import StepKind
from jobs.oil_history import CircuitOil, OilEvent, oil_of_circuits
from jobs.pages.ways import job_url
from jobs.policies import may_see_jobs
from jobs.steps.oil_total import assumptions
from shopcool.core.actors import Actor
from shopcool.engineering.quantities import Kind
from shopcool.shop.units import Units
from shopcool.vehicles.models import Circuit
from shopcool.vehicles.panels import Panel

TEMPLATE = "jobs/_oil_history.html"
EVENTS_SHOWN = 12


@dataclass(frozen=True)
class EventShown:
    """One thing that took oil out or put it in; ``left`` stands once for each visit."""

    at: datetime
    title: str
    text: str
    change: str
    left: str
    job: str
    url: str


@dataclass(frozen=True)
class OilShown:
    """The estimate in the reader's units; ``estimate`` is None while the label's amount is unknown."""

    estimate: str | None
    measured: str
    assumptions: tuple[str, ...]
    unknown: tuple[str, ...]
    events: tuple[EventShown, ...]


def oil_panels(actor: Actor, circuits: Sequence[Circuit], units: Units) -> dict[int, Panel]:
    """Return the oil of each circuit that a visit has opened, for the page of its vehicle."""
    if not may_see_jobs(actor):
        return {}
    found = oil_of_circuits(circuits).items()
    return {pk: Panel(TEMPLATE, oil_shown(oil, units)) for pk, oil in found if oil.events}


def oil_shown(oil: CircuitOil, units: Units) -> OilShown:
    """Return the oil of a circuit as a page shows it, newest event first."""
    total = oil.total
    estimate = total.estimate_m3
    words = {name: units.shown(value, Kind.VOLUME) for name, value in _measured(oil).items()}
    return OilShown(
        estimate=None if estimate is None else units.shown(estimate, Kind.VOLUME),
        measured=_("%(out)s came out and %(in)s went in, as far as it was measured.") % words,
        assumptions=assumptions(),
        unknown=total.unknown,
        events=tuple(_event(one, units) for one in reversed(oil.events[-EVENTS_SHOWN:])),
    )


def _measured(oil: CircuitOil) -> dict[str, float]:
    return {"out": oil.total.removed_m3, "in": oil.total.added_m3}


def _event(event: OilEvent, units: Units) -> EventShown:
    change, number = event.change_m3, event.record.job.number
    return EventShown(
        at=event.at,
        title=_title(event),
        text=_text(event),
        change=_("not measured") if change is None else _signed(change, units),
        left="" if event.left_m3 is None else units.shown(event.left_m3, Kind.VOLUME),
        job=number,
        url=job_url(number),
    )


def _signed(change_m3: float, units: Units) -> str:
    sign = "+" if change_m3 > 0 else "−" if change_m3 < 0 else ""
    return sign + units.shown(abs(change_m3), Kind.VOLUME)


def _title(event: OilEvent) -> str:
    if event.kind is StepKind.OIL and event.values.no("added"):
        return _("No oil added")
    return {
        StepKind.RECOVERY: _("Came out with the refrigerant"),
        StepKind.PARTS: _("Drained from old parts"),
        StepKind.OIL: _("Added"),
    }[event.kind]


def _text(event: OilEvent) -> str:
    values = event.values
    if event.kind is StepKind.PARTS:
        return values.text("parts")
    if event.kind is not StepKind.OIL:
        return ""
    if values.no("added"):
        return values.text("why_none")
    injector = values.stored.get("injector")
    through = _("through %(injector)s") % {"injector": injector["code"]} if injector else _("into a new part")
    if values.yes("emptied"):
        return _("%(through)s, after all oil was out") % {"through": through}
    return through
