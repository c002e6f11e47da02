"""What a recovery leaves in the circuit, what an open circuit feeds a machine, and a charge for a search."""

from __future__ import annotations

import pytest

from jobs.choices import StepKind
from jobs.errors import StepBlocked
from jobs.procedure import Outcome
from tests.jobs.cases.car import Car, output, said, words

pytestmark = pytest.mark.django_db


class TestRecovery:
    """18 % may stay at 21 °C, 30 % at 10 °C with older machines (article on the standard; workshop texts)."""

    @pytest.fixture(autouse=True)
    def read_at_rest(self, petrol_car: Car) -> None:
        petrol_car.bay.record(StepKind.READINGS_BEFORE)

    @pytest.mark.parametrize(
        # 480 g are 82 % or 70 % of what was inside.
        ("celsius", "remains"),
        [("21", "up to 105 g"), ("10", "up to 206 g")],
    )
    def test_is_a_lower_bound_that_the_cold_makes_looser(
        self, petrol_car: Car, celsius: str, remains: str
    ) -> None:
        answer = petrol_car.tried(StepKind.RECOVERY, ambient=celsius)

        assert said(answer, "at_least") == "At least 480 g was in the circuit."
        assert output(answer, "may_remain").text == remains
        assert "leak" not in words(answer).lower()

    def test_is_pulled_again_when_pressure_comes_back_or_ten_minutes_have_passed(
        self, petrol_car: Car
    ) -> None:
        returned = petrol_car.tried(StepKind.RECOVERY, pressure_returned="yes")
        waited = petrol_car.tried(StepKind.RECOVERY, waited="12 min")

        assert said(returned, "second_pull") == "Pull again: refrigerant came back out of the oil."
        assert "more than ten minutes have passed" in said(waited, "second_pull")
        assert not returned.satisfied
        assert not waited.satisfied

    def test_that_left_an_unknown_rest_allows_no_charge_on_top(self, petrol_car: Car) -> None:
        petrol_car.bay.record(StepKind.RECOVERY, pressure_returned="yes")

        reasons = {reason.code for reason in petrol_car.bay.state(StepKind.CHARGE).reasons}

        assert "vacuum_not_held" in reasons
        assert "not_recovered" in {one.code for one in petrol_car.bay.state(StepKind.EVACUATION).reasons}


class TestOpenCircuit:
    """A machine on an open circuit took in only air: its tank stood 300 psi above saturation (2022)."""

    def test_is_told_from_its_pressure_to_find_the_leak_first(self, petrol_car: Car) -> None:
        answer = petrol_car.tried(StepKind.READINGS_BEFORE, low="0 psi", high="0 psi")

        assert answer.outcome is Outcome.NO_PRESSURE
        assert said(answer, "no_pressure") == (
            "No pressure: do not recover, it would pull air into the machine's tank. Search the leak first."
        )

    def test_is_never_recovered(self, petrol_car: Car) -> None:
        petrol_car.bay.record(StepKind.READINGS_BEFORE, low="0 psi", high="0 psi")

        with pytest.raises(StepBlocked) as caught:
            petrol_car.tried(StepKind.RECOVERY)

        (reason,) = caught.value.reasons
        assert reason.sentence == (
            "The circuit has no pressure: recovery would pull air into the machine's tank."
        )
        assert reason.fix == "Search the leak with nitrogen or trace gas first, then evacuate."


class TestSearchCharge:
    """About 200 g go in to search a leak that the vacuum showed, and come out again (maker, 2011)."""

    def test_is_on_record_and_no_part_of_the_charge_that_follows(self, recovered_car: Car) -> None:
        bay = recovered_car.bay
        bay.record(StepKind.PARTS)
        bay.record(StepKind.EVACUATION)
        bay.record(StepKind.OIL)
        search = bay.record(StepKind.CHARGE, mass="200 g", reason="to search the leak")
        bay.record(StepKind.LEAK_CHECK, result="FOUND", where="service port")
        bay.record(StepKind.RECOVERY, mass="190 g", oil_end="6 ml")
        bay.record(StepKind.EVACUATION)

        charged = recovered_car.tried(StepKind.CHARGE)

        assert search.answer["outcome"] == Outcome.OUT_OF_TOLERANCE
        assert charged.outcome is Outcome.IN_TOLERANCE
        assert output(charged, "total").text == "550 g"


class TestLabelInTwoUnits:
    """465 to 515 g, printed beside it 16.5 to 18.1 oz: 515 g are 18.17 oz, the grams rule (vehicle maker)."""

    @pytest.mark.parametrize(
        ("typed", "outcome"),
        [
            ("18.1 oz", Outcome.IN_TOLERANCE),
            ("18.15 oz", Outcome.IN_TOLERANCE),
            ("18.2 oz", Outcome.OUT_OF_TOLERANCE),
        ],
    )
    def test_is_kept_by_its_grams(self, recovered_car: Car, typed: str, outcome: Outcome) -> None:
        bay = recovered_car.bay
        bay.job.circuit.charge_kg, bay.job.circuit.tolerance_kg = 0.49, 0.025
        bay.job.circuit.save()
        for kind in (StepKind.EVACUATION, StepKind.OIL):
            bay.record(kind)

        assert recovered_car.tried(StepKind.CHARGE, mass=typed).outcome is outcome
