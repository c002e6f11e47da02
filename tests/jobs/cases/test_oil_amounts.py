"""Oil by the vehicle's own rule: exact boundaries, parts that sum to more than the circuit, two lines."""

from __future__ import annotations

import pytest

from jobs.choices import StepKind
from jobs.steps.answers import Answer
from tests.jobs.cases.car import Car, output, said

pytestmark = pytest.mark.django_db


def balance(car: Car, rule: str, replaced: str, **more: str) -> Answer:
    """Return the answer of the oil step by a rule; the car gave back 5 ml of oil with its refrigerant."""
    circuit = car.bay.job.circuit
    circuit.oil_rule = f"source workshop manual\n{rule}"
    circuit.save()
    return car.tried(StepKind.OIL, replaced=replaced, **more)


def millilitres(answer: Answer) -> float:
    """Return what is to be added by the rule [ml]; less than nothing is to be drained."""
    amount = output(answer, "by_rule").si
    assert amount is not None
    return round(amount * 1e6, 2)


class TestFourTerms:
    """The new unit holds 120 ml, 20 ml stay in the old one, less than 60 ml drained count as 40 (maker)."""

    rule = """new compressor holds 120
stays in old compressor 20
drained below 60 counts 40
part liquid tank 5
part condenser 30"""

    @pytest.mark.parametrize(
        ("replaced", "amount", "told"),
        [
            ("compressor 35 ml, liquid tank", -50, "oil_drain"),
            ("compressor 75 ml, liquid tank, condenser", 15, "oil_add"),
            # The jump of the rule: 59 ml count as 40, 60 ml as 60.
            ("compressor 59 ml, liquid tank", -50, "oil_drain"),
            ("compressor 60 ml, liquid tank", -30, "oil_drain"),
        ],
    )
    def test_drain_or_add_by_the_exact_boundary(
        self, recovered_car: Car, replaced: str, amount: float, told: str
    ) -> None:
        answer = balance(recovered_car, self.rule, replaced)

        assert millilitres(answer) == amount
        assert told in answer.codes

    def test_are_shown_with_what_the_new_unit_holds_already(self, recovered_car: Car) -> None:
        sentence = said(balance(recovered_car, self.rule, "compressor 35 ml, liquid tank"), "oil_drain")

        assert sentence.startswith("Drain 50 ml (1.69 US fl oz, 1.76 imp fl oz) from the new compressor")
        assert sentence.endswith("= 70 ml. The new compressor holds 120 ml.")


class TestPartsOfAWholeCircuit:
    """105 + 60 + 30 + 90 = 285 ml of parts in a circuit of 270 ml, 90 more for a sudden loss (maker)."""

    rule = """new compressor holds 240
part compressor 60
part accumulator 105
part condenser 30
part evaporator 90
sudden loss 90
circuit holds 270"""
    all_four = "compressor, accumulator, condenser, evaporator"

    @pytest.mark.parametrize(("sudden_loss", "total"), [("no", 290), ("yes", 380)])
    def test_get_no_more_than_the_circuit_holds(
        self, recovered_car: Car, sudden_loss: str, total: float
    ) -> None:
        # The 5 ml that came out with the refrigerant go back on top of the parts.
        answer = balance(recovered_car, self.rule, self.all_four, sudden_loss=sudden_loss)

        assert millilitres(answer) == 270 - 240
        assert said(answer, "oil_capped") == (
            f"The parts sum to {total} ml; the circuit holds 270 ml: it gets no more."
        )

    def test_of_an_emptied_one_get_all_it_holds(self, recovered_car: Car) -> None:
        answer = balance(recovered_car, self.rule, "compressor", emptied="yes")

        assert millilitres(answer) == 270 - 240
        assert "An emptied circuit gets all it holds, 270 ml." in said(answer, "oil_add")

    def test_with_two_lines_for_one_part_are_left_to_the_maker(self, recovered_car: Car) -> None:
        # The same page says 60 ml, and as much as was drained.
        answer = balance(recovered_car, f"{self.rule}\npart compressor drained", "compressor 100 ml")

        assert said(answer, "oil_conflicting_rules").startswith(
            "The rule has two lines for one part and gives drain 175 ml, drain 135 ml: decide with the maker."
        )


class TestListOfParts:
    """A new unit of 100 ml: alone drain 50, with the receiver 80 ml belong in, drain 20 (maker, 2006).

    The car gave back 5 ml of oil, which go in again.
    """

    rule = "new compressor holds 100\npart compressor 50\npart receiver 30"

    @pytest.mark.parametrize(("replaced", "amount"), [("compressor", -45), ("compressor, receiver", -15)])
    def test_decides_how_much_is_drained(self, recovered_car: Car, replaced: str, amount: float) -> None:
        assert millilitres(balance(recovered_car, self.rule, replaced)) == amount

    def test_with_a_part_that_the_rule_leaves_out_has_no_answer(self, recovered_car: Car) -> None:
        answer = balance(recovered_car, self.rule, "compressor, condenser")

        assert said(answer, "oil_part_unknown") == "The rule of this vehicle states nothing for 'condenser'."
        assert answer.output("by_rule") is None


class TestFloor:
    """As much as was drained, at least 50 ml (vehicle maker, 1992); 5 ml came out with the refrigerant."""

    @pytest.mark.parametrize(("drained", "amount"), [(15, 55), (30, 55), (70, 75)])
    def test_holds_below_it_only(self, recovered_car: Car, drained: int, amount: float) -> None:
        rule = "new compressor holds 0\ndrained at least 50"

        assert millilitres(balance(recovered_car, rule, f"compressor {drained} ml")) == amount


class TestOunces:
    """140 to 160 ml are 4.73 to 5.41 US and 4.93 to 5.63 imperial fluid ounces (vehicle maker, 2013)."""

    @pytest.mark.parametrize(("typed", "ml"), [("4.73 US fl oz", 140), ("5.63 imp fl oz", 160)])
    def test_of_both_countries_mean_the_maker_s_millilitres(
        self, recovered_car: Car, typed: str, ml: float
    ) -> None:
        drained = output(recovered_car.tried(StepKind.PARTS, drained_oil=typed), "drained_oil")

        assert drained.si == pytest.approx(ml * 1e-6, rel=2e-3)
        assert drained.text == f"{ml} ml"

    @pytest.mark.parametrize("typed", ["5 oz", "5 fl oz"])
    def test_of_no_country_are_asked_about(self, recovered_car: Car, typed: str) -> None:
        refused = recovered_car.refused(StepKind.PARTS, drained_oil=typed)

        assert "write “US fl oz” (29.57 ml) or “imp fl oz” (28.41 ml)" in refused["drained_oil"][0]
