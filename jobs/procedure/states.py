"""Where each step of a job stands, and why one that has to wait does."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum

from django.utils.functional import Promise, lazy
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from jobs.choices import StepKind
from jobs.procedure.blockers import Blocker, blockers
from jobs.procedure.case import Case
from jobs.procedure.plan import Need, PlannedStep

#: Steps that the equipment's own records decide; nobody fills in a form for them.
DERIVED = frozenset({StepKind.CONNECTION, StepKind.DISCONNECTION, StepKind.CLOSING_PURGE})
#: Steps that may be recorded again: the newest record counts, and all of them are kept.
_REPEATABLE = frozenset(StepKind) - {StepKind.CLOSE_OUT, StepKind.DISCONNECTION, StepKind.CLOSING_PURGE}

_NOT_NOW = _("Not needed as things are now.")


class StepStatus(StrEnum):
    """Where a step stands."""

    DONE = "DONE"
    NEXT = "NEXT"
    READY = "READY"
    BLOCKED = "BLOCKED"
    NOT_NEEDED = "NOT_NEEDED"


@dataclass(frozen=True)
class StepState:
    """One step of a job at one moment.

    ``reasons`` say why a blocked step has to wait and what clears it. ``may_record`` says whether it may be
    recorded now: ready, next, or done and repeatable.
    """

    kind: StepKind
    status: StepStatus
    required: bool
    because: Promise
    reasons: tuple[Blocker, ...] = ()
    may_record: bool = False

    @property
    def why(self) -> str:
        """Why the step is or is not needed, in the language of whoever reads it."""
        return str(self.because)

    @property
    def is_done(self) -> bool:
        """Whether the step is finished."""
        return self.status is StepStatus.DONE

    @property
    def is_open_requirement(self) -> bool:
        """Whether the job can't be closed because of this step."""
        return self.required and not self.is_done


def step_states(case: Case) -> tuple[StepState, ...]:
    """Return the state of every kind of step, in the order of the work.

    The first required step that may be done now is NEXT; everything else that may be done is READY.
    """
    states: list[StepState] = []
    for kind in StepKind:
        if kind is not StepKind.CLOSE_OUT:
            states.append(_state(kind, case))
    states.append(_close_out(case, states))
    return tuple(_with_next(states, case))


def state_of(kind: StepKind, states: Iterable[StepState]) -> StepState:
    """Return the state of one kind."""
    return next(state for state in states if state.kind is kind)


def next_step(states: Iterable[StepState]) -> StepState | None:
    """Return the first required step that is not done, even if something blocks it; None when all are."""
    return next((state for state in states if state.is_open_requirement), None)


def _state(kind: StepKind, case: Case) -> StepState:
    planned: PlannedStep = case.plan[kind]
    need = case.need(kind)
    if need is Need.NOT_NEEDED:
        because = planned.because if planned.need is Need.NOT_NEEDED else _NOT_NOW
        return StepState(kind, StepStatus.NOT_NEEDED, False, because)
    reasons = blockers(kind, case)
    required = need is Need.REQUIRED
    if is_finished(kind, case):
        may_record = kind in _REPEATABLE and not reasons
        return StepState(kind, StepStatus.DONE, required, planned.because, (), may_record)
    status = StepStatus.BLOCKED if reasons else StepStatus.READY
    return StepState(kind, status, required, planned.because, reasons, not reasons)


def is_finished(kind: StepKind, case: Case) -> bool:
    """Return whether a step is done for good as things are now; a later recovery undoes an evacuation.

    Where pump oil may have entered, the insulation is measured again after the charge: under vacuum a
    winding flashes over (common practice).
    """
    progress = case.progress
    if kind is StepKind.CONNECTION:
        return progress.was_connected
    if kind is StepKind.DISCONNECTION:
        return progress.was_connected and not progress.connected
    if kind is StepKind.CLOSING_PURGE:
        return progress.was_connected and not progress.connected and not progress.purges_due
    if kind is StepKind.RECOVERY and case.is_foul:
        return case.has(kind) and case.recorded_at(kind) > case.recorded_at(StepKind.IDENTIFICATION)
    if kind is StepKind.EVACUATION:
        return case.vacuum_holds
    if kind is StepKind.CHARGE:
        return case.is_charged
    if kind is StepKind.INSULATION and case.is_charged:
        return case.has(kind) and case.recorded_at(kind) > case.pump_oil_at
    if kind in {StepKind.READINGS_AFTER, StepKind.LEAK_CHECK} and case.plan[StepKind.CHARGE].required:
        return case.has(kind) and case.recorded_at(kind) > case.recorded_at(StepKind.CHARGE)
    return case.has(kind)


def _close_out(case: Case, states: Iterable[StepState]) -> StepState:
    because = case.plan[StepKind.CLOSE_OUT].because
    if case.has(StepKind.CLOSE_OUT):
        return StepState(StepKind.CLOSE_OUT, StepStatus.DONE, True, because)
    reasons = [*blockers(StepKind.CLOSE_OUT, case), *_unfinished(case, states)]
    status = StepStatus.BLOCKED if reasons else StepStatus.READY
    return StepState(StepKind.CLOSE_OUT, status, True, because, tuple(reasons), not reasons)


def _unfinished(case: Case, states: Iterable[StepState]) -> list[Blocker]:
    found = [
        Blocker(
            "step_missing",
            _missing(state.kind),
            state.reasons[0].cure if state.reasons else _("Do it and record it."),
            state.kind,
        )
        for state in states
        if state.is_open_requirement
    ]
    if case.progress.purges_due:
        found.append(
            Blocker(
                "purge_due",
                _("Without a line purge since they left this vehicle: %(pieces)s.")
                % {"pieces": ", ".join(case.progress.purges_due)},
                _("Run a line purge with these pieces in the loop."),
                StepKind.CLOSING_PURGE,
            )
        )
    if case.progress.connected:
        found.append(
            Blocker(
                "still_connected",
                _("Pieces are still on the vehicle."),
                _("Disconnect them."),
                StepKind.DISCONNECTION,
            )
        )
    return found


def _missing_now(step: StepKind) -> str:
    return gettext("This step is missing: %(step)s.") % {"step": step.label}


_missing = lazy(_missing_now, str)


def _with_next(states: list[StepState], case: Case) -> list[StepState]:
    for index, state in enumerate(states):
        if state.required and state.status is StepStatus.READY and not _is_early(state.kind, case):
            states[index] = replace(state, status=StepStatus.NEXT)
            break
    return states


def _is_early(kind: StepKind, case: Case) -> bool:
    """Whether a leak search is possible already, but the one that counts follows the charge."""
    return kind is StepKind.LEAK_CHECK and case.plan[StepKind.CHARGE].required and not case.is_charged
