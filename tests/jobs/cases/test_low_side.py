"""A low side in vacuum, swinging, or read at another place: what it says, and what it does not."""

from __future__ import annotations

import pytest

from jobs.choices import StepKind
from tests.jobs.cases.car import STEADY, Car, finding, leaders, output, said, words

pytestmark = pytest.mark.django_db

VALVE = "restriction at the expansion device"
UPSTREAM = "restriction upstream: drier, filter, liquid line"


class TestDeepVacuum:
    """120 psi over 20 inches of vacuum, new compressor; debris sat in the valve (trade blog, 2023)."""

    def test_is_a_restriction_and_never_the_compressor(self, petrol_car: Car) -> None:
        diagnosis = petrol_car.diagnosis("20 inHg vac", "120 psi")

        assert leaders(diagnosis, 2) == [VALVE, UPSTREAM]
        last = {cause.name for cause in diagnosis.others[-3:]}
        assert "compressor weak or not stroking" in last
        assert "compressor not driven: clutch, belt, control valve, inverter, command" in last

    def test_looks_like_a_nearly_empty_circuit_so_the_scale_comes_first(self, petrol_car: Car) -> None:
        diagnosis = petrol_car.diagnosis("20 inHg vac", "120 psi")

        assert diagnosis.next_measurement == "Recover the charge, weigh it and compare with the label."
        assert any("nearly empty circuit can look alike" in remark for remark in diagnosis.remarks)

    def test_is_marked_as_implausible_for_an_evaporator(self, petrol_car: Car) -> None:
        # 0.34 bar absolute: R-134a boils at −47.7 °C, CoolProp 8.0.0.
        answer = petrol_car.running("20 inHg vac", "120 psi")

        assert output(answer, "low_saturation").text == "-47.7 °C, implausible"
        assert "starved, empty or misread" in said(answer, "implausible_cold")

    def test_asks_for_the_kind_of_compressor_before_it_ranks(self, petrol_car: Car) -> None:
        answer = petrol_car.running("20 inHg vac", "120 psi", compressor="")

        assert "which compressor it is" in said(answer, "not_graded_compressor")

    def test_frost_along_the_line_moves_the_restriction_upstream(self, petrol_car: Car) -> None:
        diagnosis = petrol_car.diagnosis("20 inHg vac", "120 psi", seen=["liquid_line_step"])

        assert leaders(diagnosis, 1) == [UPSTREAM]


class TestSwings:
    """Low side now ordinary, now in vacuum; cooling comes and goes (vehicle maker's table)."""

    def test_between_two_readings_are_ice_at_the_valve(self, petrol_car: Car) -> None:
        swinging = STEADY | {"low": "10 inHg vac", "high": "130 psi"}
        petrol_car.bay.record(StepKind.READINGS_BEFORE, **swinging)

        diagnosis = petrol_car.diagnosis("25 psi", "150 psi")

        assert leaders(diagnosis, 1) == ["moisture freezing at the expansion device"]

    def test_of_a_single_reading_are_not_known(self, petrol_car: Car) -> None:
        diagnosis = petrol_car.diagnosis("10 inHg vac", "130 psi")

        assert leaders(diagnosis, 1) != ["moisture freezing at the expansion device"]


class TestPort:
    """One restriction, two pictures: the accumulator's port sits upstream of it (vehicle maker, 2003).

    The pressures are ours: an ordinary low side under a restriction that shows by its subcooling.
    """

    reading = {"suction": "15", "liquid": "35", "vent": "18"}

    def test_at_the_accumulator_lets_an_ordinary_low_side_be_a_restriction(self, petrol_car: Car) -> None:
        diagnosis = petrol_car.diagnosis("30 psi", "200 psi", port="at_accumulator", **self.reading)

        assert leaders(diagnosis, 1) == [UPSTREAM]
        assert diagnosis.leading[0].speaks_against == ()
        assert any("can miss the low side of a restriction" in remark for remark in diagnosis.remarks)

    def test_near_the_compressor_the_same_reading_speaks_against_one(self, petrol_car: Car) -> None:
        diagnosis = petrol_car.diagnosis("30 psi", "200 psi", port="near_compressor", **self.reading)

        upstream = next(cause for cause in diagnosis.leading if cause.name == UPSTREAM)
        assert upstream.place > 1
        assert "evaporating temperature: normal" in upstream.speaks_against

    def test_near_the_compressor_a_restriction_reads_low(self, petrol_car: Car) -> None:
        diagnosis = petrol_car.diagnosis("10 psi", "200 psi", port="near_compressor", **self.reading)

        assert leaders(diagnosis, 1) == [UPSTREAM]


class TestMakersWindow:
    """150 to 250 and 1370 to 1570 kPa for inlet air of 30 to 35 °C (vehicle maker's inspection, 2004)."""

    window = {
        "window": "yes", "window_low_from": "150 kPa", "window_low_to": "250 kPa",
        "window_high_from": "1370 kPa", "window_high_to": "1570 kPa",
        "window_inlet_from": "30", "window_inlet_to": "35",
        "window_state": "maximum cooling, 1500 rpm", "window_source": "workshop manual",
    }  # fmt: skip

    def test_grades_nothing_on_a_cool_day_and_says_what_to_change(self, petrol_car: Car) -> None:
        answer = petrol_car.running("120 kPa", "900 kPa", inlet="20", **self.window)

        assert said(answer, "window_not_comparable") == (
            "The maker's values hold for inlet air of 30 to 35 °C and maximum cooling, 1500 rpm: bring the "
            "test there, then compare."
        )
        assert "window_low_below" not in answer.codes
        assert "low charge" not in words(answer)

    def test_grades_both_sides_in_its_conditions(self, petrol_car: Car) -> None:
        answer = petrol_car.running("120 kPa", "1500 kPa", inlet="32", **self.window)

        assert finding(answer, "window_low_below").source == "workshop manual"
        assert "window_high_inside" in answer.codes
