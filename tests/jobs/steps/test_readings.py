"""What pressures and line temperatures mean, said as a technician at the car can use it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from jobs.choices import StepKind
from jobs.errors import ValuesInvalid
from jobs.procedure import Outcome
from jobs.steps.answers import Answer, Tone
from jobs.steps.context import StepContext
from shopcool.shop.units import Units
from shopcool.vehicles.choices import Metering, Refrigerant
from tests.jobs.steps.asking import ask, context, earlier
from tests.jobs.visit import BELT, ELECTRIC, Visit

#: How a belt-driven car with a fixed compressor is read: everything as the test asks for it.
STEADY = {
    "state": "RUNNING", "ambient": "30", "mode": "cabin_cooling", "compressor": "fixed_belt",
    "steady": "10", "blower": "FULL", "recirculation": "yes", "doors_open": "yes",
}  # fmt: skip


def on(gas: Refrigerant = Refrigerant.R134A, **changes: Any) -> StepContext:
    """Return a belt-driven car with this refrigerant and an expansion valve."""
    visit = Visit(replace(BELT, refrigerant=gas))
    return context(visit, **{"metering": Metering.EXPANSION_VALVE, **changes})


def at_rest(pressure: str, celsius: str, gas: Refrigerant = Refrigerant.R134A) -> Answer:
    raw = {"state": "STATIC", "low": pressure, "high": pressure, "ambient": celsius, "metal": celsius}
    return ask(StepKind.READINGS_BEFORE, raw, on(gas))


def running(low: str, high: str, known: StepContext | None = None, **more: str) -> Answer:
    return ask(StepKind.READINGS_BEFORE, STEADY | {"low": low, "high": high} | more, known or on())


def said(answer: Answer, code: str) -> str:
    return next(finding.sentence for finding in answer.findings if finding.code == code)


def shown(answer: Answer, name: str) -> str:
    output = answer.output(name)
    assert output is not None
    return output.text


class TestAtRest:
    # A vehicle maker's table of standing pressures for R-134a.
    @pytest.mark.parametrize(
        ("celsius", "bar"),
        [
            ("15", "3.9"),
            ("20", "4.7"),
            ("25", "5.6"),
            ("30", "6.7"),
            ("35", "7.8"),
            ("40", "9.1"),
            ("45", "10.5"),
        ],
    )
    def test_a_maker_s_table_means_liquid_present(self, celsius, bar):
        answer = at_rest(f"{bar} bar", celsius)

        assert said(answer, "static_consistent").startswith("Liquid present: the pressure is that of R-134a")
        assert answer.output("static_excess").si == pytest.approx(0.0, abs=15_000.0)

    def test_liquid_present_never_means_that_the_charge_is_correct(self):
        words = " ".join(finding.sentence for finding in at_rest("4.7 bar", "20").findings)

        assert "never that the charge is right" in words
        assert "correct" not in words

    def test_another_gas_of_nearly_the_same_pressure_is_not_recognised(self):
        answer = at_rest("4.7 bar", "20", Refrigerant.R1234YF)

        assert "static_consistent" in answer.codes
        assert "or which gas it is" in said(answer, "static_limits")

    def test_below_saturation_is_vapour_only(self):
        assert "vapour only, no liquid left" in said(at_rest("2.2 bar", "20"), "static_no_liquid")

    def test_above_saturation_is_extra_gas_of_any_kind(self):
        sentence = said(at_rest("6.5 bar", "20"), "static_extra_gas")

        assert "extra gas, air or another or mixed refrigerant. Use an identifier." in sentence

    def test_one_atmosphere_off_is_a_mix_up_to_check_first(self):
        answer = at_rest("5.71 bar", "20")

        assert "gauge and absolute may be mixed up" in said(answer, "static_basis_mix_up")

    def test_carries_its_limit_and_where_it_comes_from(self):
        finding = next(f for f in at_rest("4.7 bar", "20").findings if f.code == "static_consistent")

        assert finding.limit.startswith("saturation 4.70 bar(g) ±")
        assert "Dalton" in finding.source

    def test_of_an_unknown_gas_is_compared_with_nothing(self):
        assert "nothing to be compared with" in said(
            at_rest("5 bar", "20", Refrigerant.UNKNOWN), "gas_unknown"
        )

    def test_a_short_rest_is_repeated(self):
        raw = {"state": "STATIC", "low": "70 psi", "high": "70 psi", "ambient": "68 °F", "rested": "10 min"}

        assert "not_rested" in ask(StepKind.READINGS_BEFORE, raw, on()).codes


class TestSensor:
    raw = {"state": "STATIC", "low": "4.7 bar", "high": "4.7 bar", "ambient": "20"}

    def with_sensor(self, typed: str) -> Answer:
        return ask(StepKind.READINGS_BEFORE, self.raw | {"sensor": typed, "sensor_source": "SCAN_TOOL"}, on())

    def test_absolute_beside_a_gauge_agrees(self):
        answer = self.with_sensor("5.7 bar abs")

        assert "are the same pressure: no fault" in said(answer, "sensor_agrees")
        assert answer.of_tone(Tone.WARNING) == ()

    def test_taken_for_gauge_is_one_atmosphere_off(self):
        assert "instead of absolute" in said(self.with_sensor("5.7 bar gauge"), "sensor_basis")

    def test_elsewhere_is_a_disagreement(self):
        assert "sensor_differs" in self.with_sensor("9 bar abs").codes

    def test_of_a_nearly_empty_circuit_forbids_the_recovery(self):
        raw = self.raw | {"low": "1.2 bar abs", "high": "1.2 bar abs", "high_source": "SCAN_TOOL"}

        answer = ask(StepKind.READINGS_BEFORE, raw, on())

        assert answer.outcome is Outcome.NO_PRESSURE
        assert shown(answer, "high").startswith("1.20 bar(a)")


class TestRunning:
    def test_shows_superheat_and_subcooling_with_their_uncertainty(self):
        """R-134a at 2 and 14 bar absolute boils at −10.08 and condenses at 52.42 °C (CoolProp, teqp)."""
        answer = running("2 bar abs", "14 bar abs", suction="-5.08 °C", liquid="47.42 °C")

        assert answer.output("superheat").si == pytest.approx(5.0, abs=0.02)
        assert answer.output("subcooling").si == pytest.approx(5.0, abs=0.02)
        assert shown(answer, "superheat").startswith("5.0 K ± ")
        assert answer.output("ratio").si == pytest.approx(7.0)
        assert answer.output("ideal_discharge").si - 273.15 == pytest.approx(64.25, abs=0.05)
        assert answer.output("ideal_performance").si == pytest.approx(3.097, rel=1e-3)

    def test_shows_differences_in_the_shop_s_degrees_without_an_offset(self):
        known = on(units=Units(pressure="psi", temperature="°F"))

        answer = running("2 bar abs", "14 bar abs", known, suction="22.86 °F", liquid="117.36 °F")

        assert shown(answer, "superheat").startswith("9.0 °F ±")

    def test_no_subcooling_within_accuracy_is_no_fault(self):
        """163.5 psig, liquid a third of a kelvin above its bubble point."""
        answer = running("30 psi", "163.5 psi", suction="10", liquid="47.6")

        assert "That is no fault by itself" in said(answer, "no_subcooling")
        assert answer.of_tone(Tone.REFUSAL) == ()

    def test_a_suction_line_colder_than_boiling_is_a_misreading(self):
        answer = running("2 bar abs", "14 bar abs", suction="-20", liquid="47")

        assert "colder than the boiling temperature" in said(answer, "neg_superheat")

    def test_a_deep_vacuum_is_marked_as_implausible(self):
        answer = running("20 inHg vacuum", "120 psi")

        assert shown(answer, "low_saturation").endswith("implausible")
        assert "implausible for an evaporator at work" in said(answer, "implausible_cold")

    def test_above_the_critical_pressure_stops_the_compressor(self):
        """R-1234yf: 3382 kPa, 476 psig (Tanaka and Higashi 2010)."""
        answer = running("30 psi", "480 psi", on(Refrigerant.R1234YF), suction="10", liquid="40")

        assert said(answer, "supercritical").startswith("Stop the compressor.")
        assert answer.output("high_saturation").si is None
        assert "supercritical" not in running("30 psi", "470 psi", on(Refrigerant.R1234YF)).codes
        assert "supercritical" in running("30 psi", "575 psi").codes

    def test_above_the_critical_pressure_carbon_dioxide_is_at_home(self):
        answer = running("40 bar abs", "100 bar abs", on(Refrigerant.R744), suction="10", liquid="35")

        assert answer.of_tone(Tone.REFUSAL) == ()
        assert "judge the gas cooler by its exit temperature" in said(answer, "transcritical")
        # The refrigerant's equation of state, exit of the gas cooler at 35 °C.
        assert answer.output("ideal_performance").si == pytest.approx(3.9, abs=0.15)

    def test_equal_pressures_name_the_drive_before_the_compressor(self):
        sentence = said(running("70 psi", "70 psi"), "not_pumping")

        assert "clutch, belt, control valve, inverter and command before the compressor" in sentence

    def test_what_was_seen_cannot_be_looked_for_in_vain(self):
        with pytest.raises(ValuesInvalid, match="seen and not seen"):
            running("2 bar", "14 bar", seen="wetting_helps", not_seen="wetting_helps")

    def test_of_an_unknown_gas_has_no_cycle(self):
        assert "not_computed" in running("2 bar", "14 bar", on(Refrigerant.UNKNOWN)).codes


class TestMakersValues:
    """A vehicle maker's window: 150 to 250 and 1370 to 1570 kPa, for inlet air of 30 to 35 °C."""

    window = {
        "window": "yes", "window_low_from": "150 kPa", "window_low_to": "250 kPa",
        "window_high_from": "1370 kPa", "window_high_to": "1570 kPa",
        "window_inlet_from": "30", "window_inlet_to": "35",
        "window_state": "maximum cooling, 1500 rpm", "window_source": "workshop manual",
    }  # fmt: skip

    def test_grade_inside_their_conditions(self):
        answer = running("200 kPa", "1300 kPa", inlet="32", **self.window)

        assert "window_low_inside" in answer.codes
        assert said(answer, "window_high_below") == "The high side is below the maker's values."

    def test_are_not_compared_outside_them(self):
        answer = running("120 kPa", "900 kPa", inlet="20", **self.window)

        assert "hold for inlet air of 30 to 35 °C" in said(answer, "window_not_comparable")
        assert not any(code.startswith(("window_low", "window_high")) for code in answer.codes)

    def test_ask_for_the_inlet_air(self):
        assert "window_needs_inlet" in running("120 kPa", "900 kPa", **self.window).codes

    def test_name_their_source(self):
        answer = running("200 kPa", "1400 kPa", inlet="32", **self.window)

        assert {f.source for f in answer.findings if f.code.startswith("window_")} == {"workshop manual"}


class TestCauses:
    def test_a_low_side_in_deep_vacuum_is_a_restriction_not_a_weak_compressor(self):
        sentence = said(running("20 inHg vacuum", "120 psi"), "probable_causes")

        assert "restriction" in sentence.split("; then")[0]
        assert "Recover the charge, weigh it" in sentence
        assert "compressor weak" not in sentence

    def test_the_compressor_s_kind_comes_first(self):
        answer = running("20 inHg vacuum", "120 psi", compressor="")

        assert "which compressor it is" in said(answer, "not_graded_compressor")

    def test_a_very_high_side_is_never_the_expansion_valve(self):
        for high in ("400 psi", "430 psi"):
            sentence = said(running("45 psi", high), "probable_causes")

            assert "metering" not in sentence.split("Next:")[0]

    @pytest.mark.parametrize("high", ["120 psi", "200 psi", "400 psi"])
    @pytest.mark.parametrize("low", ["15 psi", "30 psi", "45 psi"])
    def test_nothing_advises_to_add_refrigerant(self, low, high):
        answer = running(low, high)

        words = " ".join(finding.sentence for finding in answer.findings).lower()
        assert "add refrigerant" not in words
        assert "recover and weigh" in words

    def test_a_cold_day_is_not_graded(self):
        assert "Below 15 °C" in said(running("1.5 bar", "8 bar", ambient="12"), "not_graded_cold")

    def test_nobody_knows_which_exchanger_condenses(self):
        assert "which exchanger condenses" in said(running("2 bar", "14 bar", mode=""), "not_graded_mode")

    def test_a_low_side_that_swings_between_readings_is_ice(self):
        before = STEADY | {"low": "10 inHg vacuum", "high": "130 psi"}
        known = on(earlier=(earlier(StepKind.READINGS_BEFORE, before),))

        sentence = said(running("25 psi", "150 psi", known), "probable_causes")

        assert sentence.startswith("Explains the readings best: moisture freezing at the expansion device")

    def test_a_controlled_compressor_is_not_judged_before_a_reduced_load(self):
        hot = {"ambient": "38", "compressor": "variable_belt", "suction": "20", "liquid": "44"}

        sentence = said(running("55 psi", "160 psi", **hot), "probable_causes")

        assert "compressor weak" not in sentence

    def test_an_electric_car_needs_no_question_about_its_compressor(self):
        known = context(Visit(ELECTRIC), metering=Metering.EXPANSION_VALVE)

        assert "probable_causes" in running("2.1 bar", "14 bar", known, compressor="").codes
