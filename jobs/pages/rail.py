"""The procedure as a rail: done, now, blocked with its reason, later, not needed.

A step that only waits for an earlier one is later, not blocked; its own page says what it waits for.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from jobs.choices import StepKind
from jobs.models import Job
from jobs.pages.ways import step_url
from jobs.procedure import StepState, StepStatus


@dataclass(frozen=True)
class Station:
    """One step of the rail."""

    label: str
    state: str
    url: str
    note: str = ""
    reason: str = ""


def rail_of(
    job: Job, states: Sequence[StepState], current: StepKind | None, notes: Mapping[StepKind, str]
) -> list[Station]:
    """Return the rail; ``current`` is the step shown as next, ``notes`` what is said of done ones."""
    return [_station(job, state, state.kind is current, notes.get(state.kind, "")) for state in states]


def _station(job: Job, state: StepState, is_current: bool, done_note: str) -> Station:
    label, url = str(state.kind.label), step_url(job.number, state.kind)
    if state.status is StepStatus.DONE:
        return Station(label, "done", url, done_note)
    if state.status is StepStatus.NOT_NEEDED:
        return Station(label, "skipped", url)
    if job.closed_at is not None:
        return Station(label, "skipped", url)
    if job.is_open and state.reasons and (is_current or _waits_for_data(state)):
        return Station(label, "blocked", url, reason=_reason(state))
    note = "" if state.required else _("if it is done")
    return Station(label, "now" if is_current else "later", url, note)


def _waits_for_data(state: StepState) -> bool:
    """Whether something other than an earlier step stands in the way."""
    return any(reason.step is None for reason in state.reasons)


def _reason(state: StepState) -> str:
    return " ".join(f"{reason.sentence} {reason.fix}" for reason in state.reasons)
