"""The work, step by step: values, what the rules said, and corrections with the old entry struck."""

from __future__ import annotations

from django.utils.translation import gettext as _

from jobs.choices import StepKind
from jobs.procedure import StepStatus
from jobs.reports.figures import balance_figure, cycles_figure
from jobs.reports.gathering import Gathered
from jobs.reports.values import computed_fact, value_fact
from jobs.reports.words import clock_words, labelled, proof_words, stamp_of, tone_word
from jobs.selectors import RecordRow
from jobs.steps.answers import Finding
from jobs.steps.display import retold
from jobs.steps.registry import step_of
from jobs.steps.values import Values
from shopcool.core.documents import Entry, Fact, Remark, Section, Table, Tone
from shopcool.core.documents.figures import figure_of_plot
from shopcool.shop.units import Units


def steps_section(gathered: Gathered) -> Section:
    """Return every record in the order of the work, a corrected one just before its correction."""
    entries = tuple(_entry(row, gathered.units) for row in gathered.records)
    text = "" if entries else _("No step is on record yet.")
    return Section(_("The work, step by step"), text, entries=entries)


def readings_section(gathered: Gathered) -> Section | None:
    """Return the readings before and after side by side with their cycles, None without either."""
    context = gathered.situation.context
    before, after = context.latest(StepKind.READINGS_BEFORE), context.latest(StepKind.READINGS_AFTER)
    figure = cycles_figure(gathered)
    figures = (figure,) if figure else ()
    title = _("Readings before and after")
    if before is None or after is None:
        return Section(title, figures=figures) if figures else None
    rows = []
    for spec in step_of(StepKind.READINGS_BEFORE).fields:
        cells = [_cell(value_fact(spec, values, gathered.units)) for values in (before, after)]
        if any(cells):
            rows.append((str(spec.label), *(cell or _("not measured") for cell in cells)))
    table = Table(("", _("Before"), _("After")), (3, 5, 5), tuple(rows))
    return Section(title, tables=(table,), figures=figures)


def balance_section(gathered: Gathered) -> Section | None:
    """Return where the refrigerant of this visit went, None before anything was weighed."""
    figure = balance_figure(gathered)
    return Section(_("Charge balance"), figures=(figure,)) if figure else None


def unfinished(gathered: Gathered) -> str:
    """Return the required steps that are not done, in the order of the work, empty when there are none."""
    return ", ".join(
        str(state.kind.label) for state in gathered.situation.states if state.is_open_requirement
    )


def left_out(gathered: Gathered) -> tuple[Fact, ...]:
    """Return the steps that this job did not need, and why."""
    states = [state for state in gathered.situation.states if state.status is StepStatus.NOT_NEEDED]
    return tuple(Fact(str(state.kind.label), state.why) for state in states)


def _entry(row: RecordRow, units: Units) -> Entry:
    record = row.record
    return Entry(
        stamp=stamp_of(record, record.occurred_at),
        title=str(row.kind.label),
        word=_word(row),
        text="\n".join(part for part in (_correction(row), labelled(_("Note"), record.note)) if part),
        facts=(*_facts(row.kind, row.values, units), *_outputs(row, units)),
        remarks=tuple(_remark(finding) for finding in retold(row.answer, units).findings),
        figures=tuple(figure_of_plot(plot) for plot in row.answer.plots if row.stands),
        proof=proof_words(record, record.rules_version),
        struck=not row.stands,
    )


def _word(row: RecordRow) -> str:
    if not row.stands:
        return _("corrected by the next entry")
    return "" if row.answer.satisfied else _("does not count as done")


def _correction(row: RecordRow) -> str:
    if row.corrects is None:
        return ""
    return _("Corrects the entry of %(clock)s. Reason: “%(reason)s”") % {
        "clock": clock_words(row.corrects.occurred_at),
        "reason": row.record.correction_reason,
    }


def _facts(kind: StepKind, values: Values, units: Units) -> tuple[Fact, ...]:
    found = (value_fact(spec, values, units) for spec in step_of(kind).fields)
    return tuple(fact for fact in found if fact is not None)


def _outputs(row: RecordRow, units: Units) -> tuple[Fact, ...]:
    """Return what was computed, without what only repeats a value."""
    return tuple(
        computed_fact(output, units)
        for output in row.answer.outputs
        if output.si is None or output.si != row.values.si(output.name)
    )


def _remark(finding: Finding) -> Remark:
    tone = Tone(finding.tone.value.lower())
    details = (labelled(_("Limit"), finding.limit), labelled(_("Source"), finding.source))
    together = " · ".join(detail for detail in details if detail)
    return Remark(tone, tone_word(tone), finding.sentence, (together,) if together else ())


def _cell(fact: Fact | None) -> str:
    if fact is None:
        return ""
    return f"{fact.value}\n{fact.note}" if fact.note else fact.value
