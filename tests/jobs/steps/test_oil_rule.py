"""The oil balance at the oil step: the vehicle's own rule or none, drain or add, units kept apart."""

from __future__ import annotations

from typing import Any

import pytest

from jobs.choices import StepKind
from jobs.errors import ValuesInvalid
from jobs.steps.answers import Answer, Finding, Tone
from jobs.steps.oil_rule import replaced_parts
from shopcool.shop.units import Units
from tests.jobs.steps.asking import ask, context, earlier

#: A rule of four terms as vehicle makers print them for a new compressor (trade literature).
RULE = """source workshop manual, page 12
new compressor holds 120
stays in old compressor 20
drained below 60 counts 40
part liquid tank 5
part condenser 30
circuit holds 270"""
RENEWED = {"condenser": "yes", "condenser_type": "SAME", "desiccant": "INTEGRAL"}
NONE_ADDED = {"added": "no", "why_none": "the new compressor was filled"}


def balance(
    replaced: str,
    *,
    recovered: str = "5 ml",
    rule: str = RULE,
    known: dict[str, Any] | None = None,
    **changes: Any,
) -> Answer:
    """Return the answer for parts that were replaced, with oil recovered before."""
    bottle = earlier(StepKind.OIL_BOTTLE, {"machine": "1", "emptied": "yes"}, position=1)
    pull = earlier(
        StepKind.RECOVERY,
        {"into": "MACHINE", "machine": "1", "mass": "480", "ambient": "21", "pressure_returned": "no"}
        | ({"oil_end": recovered} if recovered else {}),
        position=2,
    )
    about = context(earlier=(bottle, pull), oil_rule=rule, **(known or {}))
    return ask(StepKind.OIL, NONE_ADDED | {"replaced": replaced} | changes, about)


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

    @pytest.mark.parametrize(
        ("added", "known"),
        [
            (NONE_ADDED, {"lubricant_grade": "SP-A2"}),
            ({"added": "yes", "way": "INJECTOR", "injector": "3", "amount": "15"}, {}),
        ],
    )
    def test_gives_grams_at_the_density_of_the_oil_at_hand(
        self, added: dict[str, str], known: dict[str, str]
    ):
        # 15 ml at 0.96 g/ml, of the lot on the shelf or of what the injector holds
        answer = balance("compressor 75 ml, liquid tank, condenser", known=known, **added)

        assert "(0.51 US fl oz, 0.53 imp fl oz, 14.4 g)" in _finding(answer, "oil_add").sentence

    def test_is_told_in_the_unit_of_whoever_reads_it(self):
        units = Units(volume="US fl oz")

        answer = balance("compressor 35 ml, liquid tank", known={"units": units}, recovered="5 ml")

        assert answer.output("by_rule").text == "1.69 US fl oz"

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


class TestParts:
    @pytest.mark.parametrize(
        ("parts", "named"),
        [
            ({"compressor": "yes", "airflow_checked": "yes", "condenser": "no"}, "compressor 35,5 ml"),
            (RENEWED | {"compressor": "no"}, "condenser 35,5 ml"),
            (RENEWED | {"compressor": "yes", "airflow_checked": "yes"}, "compressor, condenser"),
            ({"compressor": "no", "condenser": "no"}, ""),
        ],
    )
    def test_of_the_step_before_stand_in_the_form(self, parts: dict[str, str], named: str):
        raw = {"parts": "as listed", "drained_oil": "35,5"} | parts

        assert replaced_parts(context(earlier=(earlier(StepKind.PARTS, raw),))) == named


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
