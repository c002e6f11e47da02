"""One step as a page shows it: inputs with their answer, or what takes their place, and where it stands."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from django.http import QueryDict
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from jobs.choices import StepKind
from jobs.forms.steps import ClosingForm, StepForm
from jobs.pages.answers import AnswerShown, waiting
from jobs.pages.meaning import meaning_on_record
from jobs.pages.prefilled import prefilled
from jobs.pages.ways import Way, step_url, way_of
from jobs.procedure import DERIVED, StepState, StepStatus
from jobs.situation import Situation
from jobs.steps.cautions import Caution, cautions
from jobs.steps.context import StepContext
from jobs.steps.registry import step_of

#: The last-used unit of each field, by the kind of step.
LastUnits = Mapping[StepKind, Mapping[str, str]]

#: What the button of each step says.
ACTIONS: dict[StepKind, Promise] = {
    StepKind.LABEL: gettext_lazy("Record label and complaint"),
    StepKind.HIGH_VOLTAGE: gettext_lazy("Record the precautions"),
    StepKind.IDENTIFICATION: gettext_lazy("Record the identification"),
    StepKind.OIL_BOTTLE: gettext_lazy("Record the bottle"),
    StepKind.CONNECTION: gettext_lazy("Connect pieces"),
    StepKind.READINGS_BEFORE: gettext_lazy("Record the readings"),
    StepKind.INSULATION: gettext_lazy("Record the test"),
    StepKind.RECOVERY: gettext_lazy("Record the recovery"),
    StepKind.PARTS: gettext_lazy("Record the parts"),
    StepKind.EVACUATION: gettext_lazy("Record the vacuum"),
    StepKind.OIL: gettext_lazy("Record the oil"),
    StepKind.CHARGE: gettext_lazy("Record the charge"),
    StepKind.READINGS_AFTER: gettext_lazy("Record the readings"),
    StepKind.LEAK_CHECK: gettext_lazy("Record the leak check"),
    StepKind.DISCONNECTION: gettext_lazy("Disconnect"),
    StepKind.CLOSING_PURGE: gettext_lazy("Enter the purge"),
    StepKind.CLOSE_OUT: gettext_lazy("Close this job"),
}


@dataclass(frozen=True)
class Clock:
    """A clock of a step; ``seconds`` of 0 counts up, ``fills`` is the field that is given the minutes."""

    label: str
    seconds: int
    key: str
    fills: str = ""


@dataclass(frozen=True)
class Obstacle:
    """One thing that stands in the way, what clears it, and where."""

    sentence: str
    fix: str
    way: Way | None


@dataclass(frozen=True)
class StepShown:
    """One step. ``form`` is None for steps that connections and purges decide."""

    kind: StepKind
    label: str
    number: int
    state: str
    why: str
    url: str
    action: str
    draft: str
    may_record: bool
    obstacles: tuple[Obstacle, ...]
    cautions: tuple[Caution, ...]
    clock: Clock | None
    form: StepForm | None = None
    answer: AnswerShown = field(default_factory=waiting)
    back: str = ""

    @property
    def code(self) -> str:
        """The kind as templates ask for it."""
        return self.kind.value.lower()


def step_shown(
    situation: Situation, kind: StepKind, *, form: StepForm | None = None, answer: AnswerShown | None = None
) -> StepShown:
    """Return a step of a job."""
    job, state = situation.job, situation.state(kind)
    return StepShown(
        kind=kind,
        label=str(kind.label),
        number=_number(situation, kind),
        state=_state_word(state),
        why=state.why,
        url=step_url(job.number, kind),
        action=str(ACTIONS[kind]),
        draft=f"{job.number}-{kind.value.lower()}",
        may_record=state.may_record,
        obstacles=obstacles_of(situation, state),
        cautions=cautions(kind, situation.case.facts),
        clock=_clock(kind, job.number, situation.context),
        form=form,
        answer=answer or waiting(meaning_on_record(situation, kind)),
    )


def obstacles_of(situation: Situation, state: StepState) -> tuple[Obstacle, ...]:
    """Return everything that blocks a step, each with its way out."""
    return tuple(
        Obstacle(reason.sentence, reason.fix, way_of(reason, situation.job)) for reason in state.reasons
    )


def form_of(
    situation: Situation,
    kind: StepKind,
    units: LastUnits,
    data: QueryDict | None = None,
    *,
    offered: Mapping[str, str] | None = None,
) -> StepForm | None:
    """Return the form of a step, empty or as it was sent; None for steps that nobody fills in.

    ``offered`` are answers that a link brings along, like the injector that was scanned.
    """
    if kind in DERIVED:
        return None
    form_class = ClosingForm if kind is StepKind.CLOSE_OUT else StepForm
    form = form_class(
        step_of(kind).fields_for(situation.context),
        situation.context,
        data,
        seen=situation.seen(kind),
        values=prefilled(situation, kind),
        units=units.get(kind, {}),
    )
    form.offer(offered or {})
    return form


def _number(situation: Situation, kind: StepKind) -> int:
    needed = [state.kind for state in situation.states if state.status is not StepStatus.NOT_NEEDED]
    return needed.index(kind) + 1 if kind in needed else 0


def _state_word(state: StepState) -> str:
    return {
        StepStatus.DONE: "done",
        StepStatus.NEXT: "now",
        StepStatus.READY: "later",
        StepStatus.BLOCKED: "blocked",
        StepStatus.NOT_NEEDED: "skipped",
    }[state.status]


def _clock(kind: StepKind, number: str, context: StepContext) -> Clock | None:
    if kind is StepKind.HIGH_VOLTAGE:
        by_maker = context.maker_wait_minutes
        minutes = context.policy.wait_minutes if by_maker is None else by_maker
        return Clock(_("Wait after shut-down"), minutes * 60, f"{number}-wait", "waited")
    if kind is StepKind.LEAK_CHECK and context.case.is_empty:
        return Clock(_("Nitrogen hold"), 1800, f"{number}-leak_check")
    words = {StepKind.RECOVERY: _("Watch for a rise"), StepKind.EVACUATION: _("Vacuum hold")}
    if kind in words:
        return Clock(words[kind], 300, f"{number}-{kind.value.lower()}")
    return None
