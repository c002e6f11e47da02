"""The oil a repaired circuit gets, by the vehicle's own rule and by nothing else."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shopcool.engineering.errors import Refusal
from shopcool.engineering.oil_balance import (
    Allowance,
    OilBalance,
    OilRule,
    OilWork,
    Step,
    Verdict,
    oil_balance,
    parse_rule,
    rule_text,
)
from shopcool.engineering.quantities import Kind, from_unit
from tests.engineering.checks import Check, answer_or_refusal, assert_holds, each
from tests.engineering.soundness import ANY_FLOAT, assert_sound

ML = 1e-6
# A new unit of 120 ml; 20 ml stay in the old one; less than 60 ml drained count as 40.
FOUR_TERMS = parse_rule(
    """
    source workshop manual of one model, compressor replacement
    new compressor holds 120
    stays in old compressor 20
    drained below 60 counts 40
    part liquid tank 5
    part condenser 35
    """
)
SUM_OF_PARTS = parse_rule(
    """
    source workshop manual of another model, oil table
    circuit holds 270
    new compressor holds 240
    part accumulator 105
    part compressor 60
    part condenser 30
    part evaporator 90
    sudden loss 90
    """
)
# A new unit of 100 ml; the circuit asks 50 for the compressor and 30 more with the receiver.
TWO_ANSWERS = parse_rule(
    """
    source workshop manual of a van, oil table
    new compressor holds 100
    part compressor 50
    part receiver 30
    """
)
AT_LEAST_FIFTY = parse_rule(
    """
    source workshop manual, refill what was drained but at least 50 ml
    new compressor holds 0
    part compressor drained
    drained at least 50
    """
)
ALL_FOUR = ("accumulator", "compressor", "condenser", "evaporator")


def four_terms(drained_ml: float, part: str) -> OilBalance:
    return oil_balance(
        FOUR_TERMS,
        OilWork(("compressor", part), 5 * ML, {"compressor": from_unit(drained_ml, "ml", Kind.VOLUME)}),
    )


def added_ml(balance: OilBalance) -> float:
    return balance.add_m3 / ML


def refill_ml(drained_ml: float) -> float:
    return added_ml(
        oil_balance(AT_LEAST_FIFTY, OilWork(("compressor",), 0.0, {"compressor": drained_ml * ML}))
    )


def new_unit_ml(*parts: str) -> float:
    return added_ml(oil_balance(TWO_ANSWERS, OilWork(parts, 0.0)))


def manual(quantity: str, ours: Callable[[], float], reference: float) -> Check:
    source = "worked by hand from the rule of a workshop manual"
    return Check("oil balance", quantity, ours, reference, 1e-9, source, "published")


def whole_circuit_ml() -> float:
    return oil_balance(SUM_OF_PARTS, OilWork(ALL_FOUR, 0.0, sudden_loss=True)).needed_m3 / ML


CHECKS = (
    manual("drained 35 ml, to add, ml", lambda: added_ml(four_terms(35, "liquid tank")), -50.0),
    manual("drained 75 ml, to add, ml", lambda: added_ml(four_terms(75, "condenser")), 15.0),
    manual("compressor alone, to add, ml", lambda: new_unit_ml("compressor"), -50.0),
    manual("compressor and receiver, to add, ml", lambda: new_unit_ml("compressor", "receiver"), -20.0),
    manual("drained 15 ml, refill, ml", lambda: refill_ml(15), 50.0),
    manual("drained 30 ml, refill, ml", lambda: refill_ml(30), 50.0),
    manual("drained 70 ml, refill, ml", lambda: refill_ml(70), 70.0),
    manual("whole circuit, ml", whole_circuit_ml, 270.0),
)


@each(CHECKS)
def test_it_agrees_with_the_world_outside(check: Check) -> None:
    assert_holds(check)


class TestTheAnswer:
    def test_a_negative_sum_is_drained_and_a_positive_one_added(self) -> None:
        assert four_terms(35, "liquid tank").verdict is Verdict.DRAIN
        assert four_terms(75, "condenser").verdict is Verdict.ADD

    def test_the_substitution_is_exact_at_its_boundary_and_is_shown(self) -> None:
        below, at = four_terms(59.999, "liquid tank"), four_terms(60, "liquid tank")

        assert added_ml(below) == pytest.approx(-50)
        assert added_ml(at) == pytest.approx(-30)
        assert {"counted", "near_bound"} <= {notice.code for notice in below.warnings}
        assert "counted" not in {notice.code for notice in at.warnings}
        assert "59.999 ml drained count as 40 ml" in below.warnings[1].message

    def test_every_term_of_the_sum_is_named(self) -> None:
        terms = {term.words: term.amount_ml for term in four_terms(35, "liquid tank").terms}

        assert terms == {
            "recovered with the refrigerant": 5.0,
            "drained from the old compressor": 40.0,
            "for the new liquid tank": 5.0,
            "stays in the old compressor": 20.0,
        }

    def test_the_sum_of_the_parts_never_exceeds_the_whole(self) -> None:
        result = oil_balance(SUM_OF_PARTS, OilWork(ALL_FOUR, 0.0))

        assert result.needed_m3 == pytest.approx(270 * ML)
        assert "The parts sum to 285 ml; the circuit holds 270 ml" in result.warnings[1].message

    def test_an_emptied_circuit_gets_the_whole(self) -> None:
        result = oil_balance(SUM_OF_PARTS, OilWork(("compressor",), 0.0, emptied=True))

        assert added_ml(result) == pytest.approx(30)

    def test_two_rules_for_one_part_are_shown_and_not_chosen(self) -> None:
        both = parse_rule(rule_text(SUM_OF_PARTS) + "part compressor drained\n")

        result = oil_balance(both, OilWork(("compressor",), 0.0, {"compressor": 80 * ML}))

        assert result.verdict is Verdict.CONFLICTING_RULES
        assert added_ml(result) == pytest.approx(60 - 240)
        assert [other / ML for other in result.alternatives_m3] == [pytest.approx(80 - 240)]

    def test_a_part_added_later_changes_the_answer(self) -> None:
        assert new_unit_ml("compressor", "receiver") - new_unit_ml("compressor") == pytest.approx(30)

    def test_nothing_to_do_is_said(self) -> None:
        rule = OilRule("test", allowances=(Allowance("hose", 0.0),))

        assert oil_balance(rule, OilWork(("hose",), 0.0)).verdict is Verdict.NOTHING

    def test_a_density_gives_grams_too(self) -> None:
        result = oil_balance(TWO_ANSWERS, OilWork(("receiver",), 0.0), density_kg_m3=980)

        assert result.add_kg == pytest.approx(0.0294)

    def test_the_source_of_the_rule_travels_with_the_answer(self) -> None:
        assert "compressor replacement" in four_terms(35, "condenser").source

    @given(st.floats(0, 500), st.floats(0, 500))
    def test_more_oil_taken_out_never_means_less_to_put_in(self, first: float, second: float) -> None:
        less, more = sorted((first, second))
        assert added_ml(four_terms(less, "condenser")) <= added_ml(four_terms(more, "condenser"))


class TestRefusals:
    @pytest.mark.parametrize(
        ("rule", "work", "code", "sentence"),
        [
            (None, OilWork(("condenser",), 0.0), "no_rule", "There is no generic answer"),
            (FOUR_TERMS, OilWork(("condenser",), None), "recovered_unknown", "Not read is not zero"),
            (FOUR_TERMS, OilWork(("compressor",), 0.0), "drained_unknown", "Not measured is not zero"),
            (FOUR_TERMS, OilWork(("evaporator",), 0.0), "part_unknown", "nothing for 'evaporator'"),
            (FOUR_TERMS, OilWork(("condenser",), 0.0, sudden_loss=True), "loss_unknown", "sudden loss"),
            (
                FOUR_TERMS,
                OilWork(("condenser",), 0.0, emptied=True),
                "circuit_unknown",
                "whole circuit holds",
            ),
            (
                OilRule("test", allowances=(Allowance("compressor", 60.0),)),
                OilWork(("compressor",), 0.0),
                "new_compressor_unknown",
                "what the new compressor holds",
            ),
            (FOUR_TERMS, OilWork(("condenser",), -1e-6), "volume", "between 0 and 5000 ml"),
            (FOUR_TERMS, OilWork(("condenser",), math.nan), "not_a_number", "volume of oil is missing"),
        ],
    )
    def test_what_is_unknown_is_never_zero(
        self, rule: OilRule | None, work: OilWork, code: str, sentence: str
    ) -> None:
        with pytest.raises(Refusal, match=sentence) as refused:
            oil_balance(rule, work)
        assert refused.value.code == code

    def test_an_impossible_density(self) -> None:
        with pytest.raises(Refusal, match="between 700 and 1300"):
            oil_balance(TWO_ANSWERS, OilWork(("receiver",), 0.0), density_kg_m3=0.98)

    @given(ANY_FLOAT, ANY_FLOAT, ANY_FLOAT, st.booleans(), st.booleans())
    def test_any_numbers_give_a_result_or_a_refusal(
        self, recovered: float, drained: float, density: float, sudden: bool, emptied: bool
    ) -> None:
        work = OilWork(ALL_FOUR, recovered, {"compressor": drained}, sudden_loss=sudden, emptied=emptied)
        assert_sound(answer_or_refusal(lambda: oil_balance(SUM_OF_PARTS, work, density_kg_m3=density)))


STEPS = st.builds(Step, st.floats(0, 5000), st.floats(0, 5000), st.booleans())


class TestTheRuleLanguage:
    @pytest.mark.parametrize(
        ("line", "code", "sentence"),
        [
            ("add some oil", "rule_syntax", "Line 2 of the rule is not understood: 'add some oil'"),
            ("part condenser 1 oz", "rule_ounce", "US, imperial and weight ounces differ"),
            ("part condenser 1 fl oz", "rule_ounce", "say millilitres"),
            ("part condenser 5001", "rule_amount", "Line 2 of the rule states more than 5000 ml"),
            ("sudden loss 5\nsudden loss 6", "rule_twice", "Line 3 of the rule repeats"),
            ("drained at least 50\ndrained at most 40", "rule_bounds", "'at least' is above its 'at most'"),
            ("\n" * 200, "rule_long", "100 lines at most"),
        ],
    )
    def test_what_is_not_understood_is_refused_with_its_line(
        self, line: str, code: str, sentence: str
    ) -> None:
        with pytest.raises(Refusal, match=sentence) as refused:
            parse_rule(f"source test\n{line}")
        assert refused.value.code == code

    def test_a_rule_without_its_source_is_no_rule(self) -> None:
        with pytest.raises(Refusal, match="needs a line 'source"):
            parse_rule("part condenser 30")

    def test_remarks_units_and_capitals_are_read(self) -> None:
        rule = parse_rule("source The Manual, page 3\nPart Condenser 30 ml  # per unit\n\n# nothing here")

        assert rule == OilRule("The Manual, page 3", allowances=(Allowance("condenser", 30.0),))

    def test_up_to_includes_its_boundary_and_below_does_not(self) -> None:
        below = OilRule("test", steps=(Step(60, 40, inclusive=False),))
        up_to = OilRule("test", steps=(Step(60, 40, inclusive=True),))

        assert (below.counted_ml(60), up_to.counted_ml(60)) == (60, 40)

    def test_the_lowest_step_that_applies_counts(self) -> None:
        rule = OilRule("test", steps=(Step(90, 80, inclusive=False), Step(60, 40, inclusive=False)))

        assert [rule.counted_ml(drained) for drained in (50, 70, 100)] == [40, 80, 100]

    def test_a_drained_amount_may_be_capped(self) -> None:
        assert OilRule("test", drained_most_ml=100).counted_ml(130) == 100

    def test_a_part_may_get_what_was_drained_and_some_more(self) -> None:
        rule = parse_rule("source test\npart accumulator drained plus 30")

        result = oil_balance(rule, OilWork(("accumulator",), 0.0, {"accumulator": 25 * ML}))

        assert added_ml(result) == pytest.approx(55)

    @given(
        st.builds(
            OilRule,
            source=st.just("a manual"),
            new_compressor_ml=st.none() | st.floats(0, 5000),
            stays_in_old_ml=st.none() | st.floats(0, 5000),
            steps=st.lists(STEPS, max_size=3).map(tuple),
            allowances=st.lists(
                st.builds(
                    Allowance,
                    st.sampled_from(["condenser", "liquid tank", "compressor"]),
                    st.floats(0, 5000),
                    st.booleans(),
                ),
                max_size=4,
            ).map(tuple),
            sudden_loss_ml=st.none() | st.floats(0, 5000),
            circuit_ml=st.none() | st.floats(0, 5000),
        )
    )
    def test_a_rule_reads_back_from_its_text(self, rule: OilRule) -> None:
        assert parse_rule(rule_text(rule)) == rule

    @given(st.text(max_size=200))
    def test_any_text_is_a_rule_or_a_refusal(self, text: str) -> None:
        outcome = answer_or_refusal(lambda: parse_rule(text))

        assert isinstance(outcome, OilRule | Refusal)
