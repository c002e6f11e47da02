"""An oil sample in a vial: it shows the oil that came out, never the compressor."""

from __future__ import annotations

from django.utils.translation import gettext as _

from jobs.choices import StepKind
from jobs.errors import ValuesInvalid
from jobs.procedure import Outcome
from jobs.steps.answers import COMMON_PRACTICE, Answer, Finding, Output, good, note, refusal, warning
from jobs.steps.context import StepContext
from jobs.steps.insulation.fields import OIL_SAMPLE
from jobs.steps.insulation.tester import said, tester_findings, tester_outputs
from jobs.steps.values import Values
from shopcool.engineering.errors import Refusal
from shopcool.engineering.insulation import InsulationReading, SampleTest, SampleVerdict, sample_test

_GOOD = frozenset({SampleVerdict.OVER_RANGE, SampleVerdict.LIKE_NEW})


def evaluate(values: Values, context: StepContext) -> Answer:
    """Return what a vial says about the oil; the compressor still has to be tested on this visit."""
    result = _judged(values)
    findings = [_finding(result), *tester_findings(values)]
    findings += [note(remark.code, remark.message) for remark in result.warnings]
    tested = any(
        record.kind is StepKind.INSULATION and record.values.text("test") != OIL_SAMPLE
        for record in context.earlier
    )
    if not tested:
        sentence = _("A vial shows the oil, not the compressor: test the compressor too.")
        findings.append(warning("compressor_not_tested", sentence, source=COMMON_PRACTICE))
    outcome = Outcome.FAILED if result.shows_contamination else Outcome.NO_VERDICT
    return Answer(outcome, tested, tuple(findings), _outputs(values, result))


def _judged(values: Values) -> SampleTest:
    new_oil = _reading(values, "new_oil") if values.has("new_oil") else None
    names = ("unmixed", "resistance") if values.has("unmixed") else ("resistance",)
    readings = [_reading(values, name) for name in names]
    try:
        return sample_test(readings, mixed=values.yes("mixed"), new_oil=new_oil)
    except Refusal as error:
        raise ValuesInvalid({"resistance": [error.message]}) from error


def _reading(values: Values, name: str) -> InsulationReading:
    found = values.quantity(name)
    if found is None:
        raise KeyError(name)
    if found.over_range and not found.si:
        sentence = _("Type where the tester's range ends, such as “OL 2.2 GΩ”: a sample is compared with it.")
        raise ValuesInvalid({name: [sentence]})
    nominal = values.needed("nominal_voltage")
    actual = values.si("actual_voltage", nominal) if name == "resistance" else nominal
    return InsulationReading(found.si, nominal, actual, found.comparator or "=")


def _finding(result: SampleTest) -> Finding:
    if result.shows_contamination:
        return refusal(result.verdict.value, result.sentence, source=result.source)
    tone = good if result.verdict in _GOOD else note
    return tone(result.verdict.value, result.sentence, source=result.source)


def _outputs(values: Values, result: SampleTest) -> tuple[Output, ...]:
    shown = values.quantity("resistance")
    text = said(shown) if shown else ""
    last = result.readings[-1]
    return (
        Output("resistance", _("Resistance of the sample"), last.resistance_ohm, text),
        *tester_outputs(values),
    )
