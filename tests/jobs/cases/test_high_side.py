"""High-side pressure far up: air, overcharge and airflow look alike until one measurement separates them."""

from __future__ import annotations

import pytest

from jobs.choices import StepKind
from tests.jobs.cases.car import Car, leaders, output, said, words

pytestmark = pytest.mark.django_db

AIR = "air, another or a mixed refrigerant"
OVERCHARGE = "too much refrigerant"
AIRFLOW = "too little air through the condenser: fan, dirt, shrouds"
ALIKE = {AIR, OVERCHARGE, AIRFLOW}


class TestAirInTheCircuit:
    """A shop's own trial on one car, first without air, then with 18.9 % of it (workshop article).

    The trial did not note the ambient temperature; 25 °C is ours.
    """

    @pytest.fixture(autouse=True)
    def identified_without_air(self, petrol_car: Car) -> None:
        """The identifier passed the gas and measured no air, which is not an air of 0 %."""
        petrol_car.bay.record(StepKind.IDENTIFICATION, air="")

    def test_without_air_nothing_stands_out(self, petrol_car: Car) -> None:
        assert leaders(petrol_car.diagnosis("32 psi", "165 psi", ambient="25"), 1) == [
            "nothing stands out in these readings"
        ]

    def test_with_air_the_three_that_look_alike_lead_together(self, petrol_car: Car) -> None:
        diagnosis = petrol_car.diagnosis("45 psi", "400 psi", ambient="25")

        assert set(leaders(diagnosis)) == ALIKE
        assert diagnosis.next_measurement.startswith("Prove the condenser fan by speed or current")

    def test_the_proved_fan_leaves_gas_and_charge_to_the_standing_pressure(self, petrol_car: Car) -> None:
        diagnosis = petrol_car.diagnosis("45 psi", "400 psi", ambient="25", fan="PROVEN")

        assert set(leaders(diagnosis, 2)) == {AIR, OVERCHARGE}
        assert "compare pressure with saturation" in diagnosis.next_measurement
        assert "identify the gas" in diagnosis.next_measurement

    @pytest.mark.parametrize(("high", "celsius"), [("165 psi", 47.6), ("400 psi", 83.9)])
    def test_stands_beside_its_saturation(self, petrol_car: Car, high: str, celsius: float) -> None:
        # Equation of state of R-134a, CoolProp 8.0.0.
        condensing = output(petrol_car.running("32 psi", high), "high_saturation")

        assert condensing.si == pytest.approx(celsius + 273.15, abs=0.1)

    def test_is_found_when_the_identifier_measures_it(self, petrol_car: Car) -> None:
        petrol_car.bay.record(StepKind.IDENTIFICATION, purity="99.5", air="18.9")

        assert leaders(petrol_car.diagnosis("45 psi", "400 psi", ambient="25"), 1) == [AIR]

    def test_never_tells_anybody_to_take_gas_out(self, petrol_car: Car) -> None:
        answer = petrol_car.running("45 psi", "400 psi", ambient="25")

        assert "overcharged" not in words(answer)
        assert "never decide" in said(answer, "weigh")

    @pytest.mark.parametrize(("typed", "kelvin"), [("38 °F", 21.1), ("102 °F", 56.7)])
    def test_keeps_the_difference_across_the_condenser_as_a_difference(
        self, petrol_car: Car, typed: str, kelvin: float
    ) -> None:
        # 38 °F and 102 °F apart, as the trial says; × 5/9 by definition, never an offset of 32.
        answer = petrol_car.running("45 psi", "400 psi", condenser_drop=typed)

        assert output(answer, "condenser_drop").si == pytest.approx(kelvin, abs=0.05)

    def test_asks_for_the_air_temperature_that_the_trial_lacks(self, petrol_car: Car) -> None:
        assert "ambient" in petrol_car.refused(
            StepKind.READINGS_BEFORE, state="RUNNING", low="45 psi", high="400 psi", ambient=""
        )


class TestSlowFan:
    """A relay with burnt contacts let the fan turn, but slowly (trade association, 2014).

    The report gives no figures: 33 and 330 psi are ours.
    """

    def test_far_up_beside_an_ordinary_low_side_asks_about_airflow_first(self, petrol_car: Car) -> None:
        diagnosis = petrol_car.diagnosis("33 psi", "330 psi")

        assert leaders(diagnosis, 1) == [AIRFLOW]
        assert "fan by speed or current, look for dirt and missing shrouds" in diagnosis.next_measurement

    def test_that_the_fan_turns_proves_nothing(self, petrol_car: Car) -> None:
        turns = petrol_car.diagnosis("33 psi", "330 psi", fan="TURNS")

        assert turns == petrol_car.diagnosis("33 psi", "330 psi")

    def test_a_fan_that_was_measured_too_slow_is_evidence(self, petrol_car: Car) -> None:
        first = petrol_car.diagnosis("33 psi", "330 psi", fan="STANDS").leading[0]

        assert (first.name, first.speaks_for[-1]) == (AIRFLOW, "condenser fan too slow or standing")


class TestWettedCondenser:
    """A maker's table reads a pressure that water brings down as overcharge; trade practice disputes it."""

    def test_proves_no_overcharge_because_it_cures_a_bad_fan_too(self, petrol_car: Car) -> None:
        diagnosis = petrol_car.diagnosis("50 psi", "330 psi", seen=["wetting_helps"])

        assert set(leaders(diagnosis, 2)) == {AIRFLOW, OVERCHARGE}
        assert {"condenser is wetted" in cause.speaks_for[-1] for cause in diagnosis.leading[:2]} == {True}

    def test_leaves_the_decision_to_the_fan_and_then_to_the_scale(self, petrol_car: Car) -> None:
        wetted = {"seen": ["wetting_helps"]}

        before = petrol_car.diagnosis("50 psi", "330 psi", **wetted).next_measurement
        after = petrol_car.diagnosis("50 psi", "330 psi", fan="PROVEN", **wetted).next_measurement

        assert before.startswith("Prove the condenser fan")
        assert after.startswith(("Let it stand", "Recover the charge, weigh it"))


class TestBeyondTheGauge:
    def test_more_than_400_psi_is_no_closed_valve(self, petrol_car: Car) -> None:
        # A web page says so; a closed valve starves the evaporator and lets the high side fall.
        diagnosis = petrol_car.diagnosis("35 psi", "430 psi")

        assert set(leaders(diagnosis, 2)) <= ALIKE
        assert not any("metering" in name for name in leaders(diagnosis, 2))

    def test_above_the_critical_pressure_stops_the_compressor(self, electric_car: Car) -> None:
        # R-1234yf: 3382 kPa, 476 psig (Tanaka and Higashi 2010).
        answer = electric_car.running("30 psi", "480 psi")

        assert said(answer, "supercritical").startswith("Stop the compressor. 34.1 bar abs is above")
        assert output(answer, "high_saturation").text == "none at this pressure"
        assert "supercritical" not in electric_car.running("30 psi", "470 psi").codes

    def test_above_that_of_the_older_gas_too(self, petrol_car: Car) -> None:
        # R-134a: 4059 kPa, 574 psig (Tillner-Roth and Baehr 1994).
        assert "supercritical" in petrol_car.running("30 psi", "575 psi").codes
        assert "supercritical" not in petrol_car.running("30 psi", "570 psi").codes
