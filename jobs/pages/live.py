"""The answer while someone types: what the rules would say, with nothing on record."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from django.utils.translation import gettext as _

from jobs.choices import StepKind
from jobs.errors import StepBlocked, ValuesInvalid
from jobs.forms.steps import StepForm
from jobs.pages.answers import WAITING, AnswerShown, answer_shown, not_answered
from jobs.pages.meaning import meaning_of_typed
from jobs.services.steps import step_try
from jobs.situation import Situation
from jobs.steps.answers import Answer
from jobs.steps.charge import target_sentence
from jobs.steps.reading import read_values
from jobs.steps.registry import step_of
from shopcool.core.actors import Actor
from shopcool.core.errors import DomainError


def answer_of_step(
    *, actor: Actor, situation: Situation, kind: StepKind, form: StepForm, now: datetime
) -> AnswerShown:
    """Return what the rules would say if the form were put on record now."""
    try:
        if kind is StepKind.CLOSE_OUT:
            answer = _answer_of_closing(situation, form)
        else:
            answer = step_try(actor=actor, job=situation.job, kind=kind, raw=form.raw, now=now)
    except ValuesInvalid as error:
        return _target(situation, kind, form, error) or not_answered(form, error)
    except DomainError as error:
        return not_answered(form, error)
    return _with_meaning(answer, situation, kind, form)


def answer_of_correction(situation: Situation, kind: StepKind, form: StepForm) -> AnswerShown:
    """Return what the rules would say if the values replaced those of the record that is left out."""
    try:
        return _with_meaning(_judged(situation, kind, form), situation, kind, form)
    except DomainError as error:
        return not_answered(form, error)


def _with_meaning(answer: Answer, situation: Situation, kind: StepKind, form: StepForm) -> AnswerShown:
    """Return the panel of an answer, with diagram and causes where the step has them."""
    values = read_values(step_of(kind).fields, form.raw, situation.context)
    return replace(answer_shown(answer), meaning=meaning_of_typed(situation, kind, values))


def _target(situation: Situation, kind: StepKind, form: StepForm, error: ValuesInvalid) -> AnswerShown | None:
    """Return how much to charge while only the charged mass is missing, None for every other gap."""
    if kind is not StepKind.CHARGE or set(error.fields) != {"mass"} or form.raw.get("mass"):
        return None
    fields = [spec.optional() if spec.name == "mass" else spec for spec in step_of(kind).fields]
    values = read_values(fields, form.raw, situation.context)
    sentence = target_sentence(values, situation.context)
    meaning = meaning_of_typed(situation, kind, values)
    return AnswerShown(WAITING, _("Target"), sentence, meaning=meaning) if sentence else None


def _answer_of_closing(situation: Situation, form: StepForm) -> Answer:
    reasons = situation.state(StepKind.CLOSE_OUT).reasons
    if reasons:
        raise StepBlocked(reasons)
    return _judged(situation, StepKind.CLOSE_OUT, form)


def _judged(situation: Situation, kind: StepKind, form: StepForm) -> Answer:
    step = step_of(kind)
    values = read_values(step.fields, form.raw, situation.context)
    return step.evaluate(values, situation.context)
