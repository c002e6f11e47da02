"""The oil balance at the oil step: the vehicle's own rule or none, drain or add, units kept apart."""

from __future__ import annotations

from typing import Any

import pytest

from jobs.choices import StepKind
from jobs.errors import ValuesInvalid
from jobs.steps.answers import Answer, Finding, Tone
from tests.jobs.steps.asking import ask, context, earlier

#: A rule of four terms as vehicle makers print them for a new compressor (trade literature).
RULE = """source workshop manual, page 12
new compressor holds 120
stays in old compressor 20
drained below 60 counts 40
part liquid tank 5
part condenser 30
circuit holds 270"""
NONE_ADDED = {"added": "no", "why_none": "the new compressor was filled"}


def balance(replaced: str, *, recovered: str = "5 ml", rule: str = RULE, **changes: Any) -> Answer:
    """Return the answer for parts that were replaced, with oil recovered before."""
    bottle = earlier(StepKind.OIL_BOTTLE, {"machine": "1", "emptied": "yes"}, position=1)
    pull = earlier(
        StepKind.RECOVERY,
        {"into": "MACHINE", "machine": "1", "mass": "480", "ambient": "21", "pressure_returned": "no"}
        | ({"oil_end": recovered} if recovered else {}),
        position=2,
    )
    known = context(earlier=(bottle, pull), oil_rule=rule)
    return ask(StepKind.OIL, NONE_ADDED | {"replaced": replaced} | changes, known)


class TestRule:
    def test_gives_an_amount_to_drain_from_the_new_compressor(self):
        # 5 recovered + 35 drained, which counts 40, + 5 + 20 = 70 ml; the new one holds 120: drain 50.
        answer = balance("compressor 35 ml, liquid tank")

        finding = _finding(answer, "oil_drain")
        assert finding.sentence == (
            "Drain 50 ml (1.69 US fl oz, 1.76 imp fl oz) from the new compressor: it holds more than the "
            "circuit needs. By the rule: recovered with the refrigerant 5 ml + drained from the old "
            "compressor 40 ml + for the new liquid tank 5 ml + stays in the old compressor 20 ml = 70 ml. "
            "The new compressor holds 120 ml."
        )
        assert finding.source == "workshop manual, page 12"
        assert "35 ml drained count as 40 ml" in _finding(answer, "oil_counted").sentence

    def test_with_a_negative_result_says_add(self):
        # 5 + 75 + 35 + 20 = 135 ml against 120: add 15, not drain.
        answer = balance("compressor 75 ml, liquid tank, condenser")

        assert _finding(answer, "oil_add").sentence.startswith("Add 15 ml (0.51 US fl oz, 0.53 imp fl oz) of")
        assert answer.output("by_rule").si == pytest.approx(15e-6)

    def test_that_is_not_what_was_added_is_said(self):
        warning = _finding(balance("compressor 75 ml, liquid tank, condenser"), "oil_not_by_rule")

        assert (warning.tone, warning.sentence) == (
            Tone.WARNING,
            "The rule asks for 15 ml of oil, none was added.",
        )

    def test_caps_the_parts_at_what_the_circuit_holds(self):
        # 5 + 200 + 30 + 5 + 20 = 260 plus the sudden loss of 90 is more than 270 ml.
        answer = balance(
            "compressor 200 ml, condenser, liquid tank", rule=f"{RULE}\nsudden loss 90", sudden_loss="yes"
        )

        assert "the circuit holds 270 ml: it gets no more" in _finding(answer, "oil_capped").sentence

    def test_with_two_lines_for_one_part_shows_both_results(self):
        answer = balance("condenser", rule=f"{RULE}\npart condenser 50")

        finding = _finding(answer, "oil_conflicting_rules")
        assert finding.sentence.startswith(
            "The rule has two lines for one part and gives add 35 ml, add 55 ml: decide with the maker."
        )
        assert finding.tone is Tone.WARNING


class TestUnknown:
    def test_rule_gives_no_generic_answer(self):
        answer = balance("compressor 35 ml", rule="")

        assert "There is no generic answer" in _finding(answer, "oil_no_rule").sentence
        assert answer.output("by_rule") is None

    def test_recovered_oil_is_not_zero(self):
        answer = balance("compressor 35 ml", recovered="")

        assert "Not read is not zero" in _finding(answer, "oil_recovered_unknown").sentence

    def test_drained_oil_is_not_zero(self):
        answer = balance("compressor, condenser")

        assert "drain and measure it" in _finding(answer, "oil_drained_unknown").sentence

    def test_part_is_named(self):
        answer = balance("compressor 35 ml, heater core")

        assert "states nothing for 'heater core'" in _finding(answer, "oil_part_unknown").sentence

    def test_ounces_are_asked_about(self):
        with pytest.raises(ValuesInvalid, match="US fl oz"):
            balance("compressor 2 oz")

    def test_parts_leave_the_step_as_it_was(self):
        assert ask(StepKind.OIL, NONE_ADDED).codes == {"none_added"}


def _finding(answer: Answer, code: str) -> Finding:
    return next(finding for finding in answer.findings if finding.code == code)
