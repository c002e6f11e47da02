"""What a step's rules say, as the answer panel shows it: one sentence, then the evidence."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.translation import gettext as _

from jobs.errors import StepBlocked, ValuesInvalid
from jobs.forms.steps import StepForm
from jobs.pages.meaning import Meaning
from jobs.procedure import Outcome
from jobs.steps.answers import Answer, Finding, Output, Tone, note
from shopcool.core.errors import DomainError
from shopcool.core.plots import Plot

#: The heaviest first: it gives the panel its tone and its sentence.
_WEIGHT = (Tone.REFUSAL, Tone.WARNING, Tone.GOOD, Tone.NOTE)


@dataclass(frozen=True)
class Remark:
    """One finding beside its shape and word."""

    tone: str
    word: str
    sentence: str
    limit: str = ""
    source: str = ""


@dataclass(frozen=True)
class AnswerShown:
    """The panel: ``tone`` of a verdict, its word and sentence, the other remarks, derived values."""

    tone: str
    word: str
    sentence: str
    limit: str = ""
    source: str = ""
    remarks: tuple[Remark, ...] = ()
    outputs: tuple[Output, ...] = ()
    meaning: Meaning | None = None
    plots: tuple[Plot, ...] = ()

    @property
    def numbers(self) -> list[Output]:
        """The derived values that are short enough to stand large."""
        return [output for output in self.outputs if len(output.text) <= LONGEST_NUMBER]

    @property
    def statements(self) -> list[tuple[str, str]]:
        """The other derived values, each with its label."""
        return [(output.label, output.text) for output in self.outputs if len(output.text) > LONGEST_NUMBER]


WAITING = "unknown"
LONGEST_NUMBER = 24


def answer_shown(answer: Answer) -> AnswerShown:
    """Return the panel of an answer; its heaviest finding leads, and a mere note leads as one: no tick."""
    findings = sorted(answer.findings, key=lambda finding: _WEIGHT.index(finding.tone))
    findings = findings or [note("nothing_against", _("Nothing speaks against it."))]
    first = _remark(findings[0])
    undecided = answer.outcome is Outcome.NO_VERDICT and findings[0].tone is Tone.NOTE
    return AnswerShown(
        tone=first.tone,
        word=_("No verdict") if undecided else first.word,
        sentence=first.sentence,
        limit=first.limit,
        source=first.source,
        remarks=tuple(_remark(finding) for finding in findings[1:]),
        outputs=answer.outputs,
        plots=answer.plots,
    )


def waiting(meaning: Meaning | None = None) -> AnswerShown:
    """Return the panel before anything was typed, with what is on record already."""
    sentence = _("What it means stands here as soon as the values are in.")
    return AnswerShown(WAITING, _("Answer"), sentence, meaning=meaning)


def not_answered(form: StepForm, error: DomainError) -> AnswerShown:
    """Return the panel when the values give no answer yet: what is wrong, or only still missing."""
    if isinstance(error, ValuesInvalid):
        return _incomplete(form, error)
    if isinstance(error, StepBlocked):
        reasons = [Remark("refusal", _word(Tone.REFUSAL), reason.sentence) for reason in error.reasons[1:]]
        sentence = error.reasons[0].sentence
        return AnswerShown("refusal", _("Not yet"), sentence, remarks=tuple(reasons))
    return AnswerShown("refusal", _("Not yet"), error.message)


def _incomplete(form: StepForm, error: ValuesInvalid) -> AnswerShown:
    wrong = [
        Remark("refusal", str(form.fields[name].label), sentence)
        for name, sentences in error.fields.items()
        for sentence in sentences
        if name in form.fields and _was_typed(form.raw.get(name))
    ]
    missing = [str(form.fields[name].label) for name in error.fields if name in form.fields]
    if wrong:
        return AnswerShown("refusal", wrong[0].word, wrong[0].sentence, remarks=tuple(wrong[1:]))
    return AnswerShown(WAITING, _("Still missing"), ", ".join(missing))


def _was_typed(value: object) -> bool:
    return bool(value.strip()) if isinstance(value, str) else bool(value)


def _remark(finding: Finding) -> Remark:
    tone = "plain" if finding.tone is Tone.NOTE else finding.tone.value.lower()
    return Remark(tone, _word(finding.tone), finding.sentence, finding.limit, finding.source)


def _word(tone: Tone) -> str:
    return {
        Tone.GOOD: _("In order"),
        Tone.NOTE: _("Note"),
        Tone.WARNING: _("Take care"),
        Tone.REFUSAL: _("Stop"),
    }[tone]
