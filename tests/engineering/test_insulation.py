"""Insulation: a floor is no limit, a collapsed voltage is no value, and nothing passes by default."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shopcool.engineering.errors import Refusal
from shopcool.engineering.insulation import (
    Bus,
    ComponentTest,
    ComponentVerdict,
    InsulationClass,
    InsulationReading,
    SampleVerdict,
    at_reference,
    component_test,
    floor,
    loaded_tester,
    ratios,
    sample_test,
)
from shopcool.engineering.insulation.ratios import MINIMUM_INDEX
from shopcool.engineering.insulation.tester import Tester as LoadedTester
from tests.engineering.checks import Check, answer_or_refusal, assert_holds, each
from tests.engineering.soundness import ANY_FLOAT, assert_sound

MEGOHM = 1e6
TRADE = "500 V tester across oil samples in a workshop"
# A 500 V tester of the trade that stands at about 526 V without load.
NEW_POE = InsulationReading(550 * MEGOHM, 500, 526, ">")
OLD_OIL = InsulationReading(160 * MEGOHM, 500, 526)
STIRRED = InsulationReading(60 * MEGOHM, 500, 526)
WATER_AND_OIL = InsulationReading(0.1 * MEGOHM, 500, 83)


def reading(
    megohm: float, *, volts: float = 500, nominal: float = 500, comparator: str = "="
) -> InsulationReading:
    return InsulationReading(megohm * MEGOHM, nominal, volts, comparator)


def judged(
    seen: InsulationReading, *, limit_megohm: float | None = None, working_v: float = 400
) -> ComponentTest:
    return component_test(
        seen,
        working_voltage_v=working_v,
        bus=Bus.AC_OR_COUPLED,
        duration_s=60,
        limit_ohm=None if limit_megohm is None else limit_megohm * MEGOHM,
        limit_source="maker",
    )


def collapsed() -> LoadedTester:
    """A 500 V tester that shows 0.15 megohm at 120 V."""
    return loaded_tester(500, 120, 0.15 * MEGOHM, nominal_voltage_v=500)


R100 = "UN R100 5.1.3"
CHECKS = (
    Check(
        "insulation",
        "floor of 400 V direct current, ohm",
        lambda: floor(400, Bus.DC).resistance_ohm,
        40e3,
        1e-12,
        R100,
        "published",
    ),
    Check(
        "insulation",
        "floor of 400 V coupled buses, ohm",
        lambda: floor(400, Bus.AC_OR_COUPLED).resistance_ohm,
        200e3,
        1e-12,
        R100,
        "published",
    ),
    Check(
        "insulation",
        "floor of 800 V coupled buses, ohm",
        lambda: floor(800, Bus.AC_OR_COUPLED).resistance_ohm,
        400e3,
        1e-12,
        R100,
        "published",
    ),
    Check(
        "insulation",
        "load that proves the rated current of a 500 V tester, ohm",
        lambda: collapsed().rated_ohm,
        500e3,
        1e-12,
        "IEC 61557-2:2019 6.4, U_N x 1000 ohm/V",
        "published",
    ),
    Check(
        "insulation",
        "120 V into 0.15 megohm, mA",
        lambda: 1e3 * collapsed().current_a,
        0.80,
        1e-12,
        "Ohm's law",
        "arithmetic",
    ),
    Check(
        "insulation",
        "that tester's source, megohm",
        lambda: collapsed().source_ohm / MEGOHM,
        0.475,
        1e-12,
        "Ohm's law",
        "arithmetic",
    ),
    Check(
        "insulation",
        "that tester's short-circuit current, mA",
        lambda: 1e3 * collapsed().short_circuit_a,
        1.05,
        5e-3,
        "Ohm's law",
        "arithmetic",
    ),
    Check(
        "insulation",
        "that tester at 0.5 megohm, V",
        lambda: collapsed().voltage_v(0.5 * MEGOHM),
        256.0,
        5e-3,
        "Ohm's law",
        "arithmetic",
    ),
    Check(
        "insulation",
        "90 % of 500 V only above, megohm",
        lambda: (collapsed().smallest_at_nominal_ohm or 0) / MEGOHM,
        4.3,
        0.01,
        "Ohm's law",
        "arithmetic",
    ),
    Check(
        "insulation",
        "83 V into 0.1 megohm, mA",
        lambda: 1e3 * WATER_AND_OIL.current_a,
        0.83,
        1e-12,
        TRADE,
        "common practice",
    ),
    Check(
        "insulation",
        "over range above, megohm",
        lambda: sample_test([NEW_POE], mixed=True).readings[0].resistance_ohm / MEGOHM,
        550.0,
        1e-12,
        TRADE,
        "common practice",
    ),
    Check(
        "insulation",
        "20 °C value at 40 °C",
        lambda: at_reference(1 * MEGOHM, 293.15, reference_k=313.15).resistance_ohm / MEGOHM,
        0.25,
        1e-12,
        "IEEE 43 rule of thumb, halves per 10 °C",
        "published",
    ),
    Check(
        "insulation",
        "minimum polarisation index, class F",
        lambda: MINIMUM_INDEX[InsulationClass.F],
        2.0,
        1e-12,
        "IEEE 43, as quoted in motor guidance",
        "published",
    ),
    Check(
        "insulation",
        "a guide's curve over 20 K, within our upper bound",
        lambda: at_reference(1 * MEGOHM, 313.15, reference_k=293.15).high_ohm / MEGOHM,
        5.0,
        1e-9,
        "a guide's curve: almost five times over 20 K",
        "published",
    ),
)


@each(CHECKS)
def test_it_agrees_with_the_world_outside(check: Check) -> None:
    assert_holds(check)


class TestOilSamples:
    def test_new_oil_is_over_range(self) -> None:
        result = sample_test([NEW_POE], mixed=True)

        assert result.verdict is SampleVerdict.OVER_RANGE
        assert not result.shows_contamination

    def test_old_oil_at_full_voltage_is_lower_than_new(self) -> None:
        result = sample_test([OLD_OIL], mixed=True, new_oil=NEW_POE)

        assert result.verdict is SampleVerdict.LOWER_THAN_NEW
        assert result.shows_contamination

    def test_a_value_that_falls_while_stirred_is_conductive_matter(self) -> None:
        result = sample_test([OLD_OIL, STIRRED], mixed=True)

        assert result.verdict is SampleVerdict.FALLING_WITH_MIXING
        assert "settled out" in result.sentence

    def test_water_and_oil_collapse_the_voltage_and_are_a_fault(self) -> None:
        result = sample_test([OLD_OIL, STIRRED, WATER_AND_OIL], mixed=True, new_oil=NEW_POE)

        assert result.verdict is SampleVerdict.FAULT_BELOW_NOMINAL_VOLTAGE
        assert result.current_a == pytest.approx(0.83e-3)

    def test_a_sample_is_judged_mixed(self) -> None:
        assert sample_test([NEW_POE], mixed=False).verdict is SampleVerdict.NOT_MIXED

    def test_a_value_without_comparison_is_only_a_value(self) -> None:
        assert sample_test([OLD_OIL], mixed=True).verdict is SampleVerdict.NO_REFERENCE

    def test_the_same_value_within_the_testers_error_is_like_new(self) -> None:
        seen = sample_test([reading(150)], mixed=True, new_oil=reading(200))

        assert seen.verdict is SampleVerdict.LIKE_NEW

    def test_a_drop_within_the_testers_error_is_not_called_falling(self) -> None:
        assert sample_test([reading(160), reading(140)], mixed=True).verdict is SampleVerdict.NO_REFERENCE

    def test_no_reading_is_refused(self) -> None:
        with pytest.raises(Refusal, match="needs at least one reading"):
            sample_test([], mixed=True)


class TestAComponent:
    def test_without_the_makers_limit_nothing_passes(self) -> None:
        for seen in (reading(0.5), reading(500), NEW_POE):
            result = judged(seen)
            assert (result.verdict, result.is_pass) == (ComponentVerdict.NO_LIMIT, False)

    def test_half_a_megohm_is_above_the_vehicle_floor_and_below_the_component_limit(self) -> None:
        result = judged(reading(0.5), limit_megohm=5)

        assert result.floor.resistance_ohm == 200e3 < 0.5 * MEGOHM
        assert result.verdict is ComponentVerdict.BELOW_LIMIT
        assert "not_a_component_limit" in {notice.code for notice in result.floor.warnings}

    def test_below_the_floor_of_the_vehicle(self) -> None:
        assert judged(reading(0.199)).verdict is ComponentVerdict.BELOW_VEHICLE_FLOOR

    def test_a_collapsed_voltage_is_a_fault_and_never_a_pass(self) -> None:
        result = judged(reading(10, volts=449), limit_megohm=1)

        assert result.verdict is ComponentVerdict.FAULT_BELOW_NOMINAL_VOLTAGE
        assert judged(reading(10, volts=450), limit_megohm=1).is_pass

    def test_five_hundred_volts_cannot_clear_eight_hundred(self) -> None:
        result = judged(reading(100), limit_megohm=10, working_v=800)

        assert (result.verdict, result.is_pass) == (ComponentVerdict.TEST_VOLTAGE_TOO_LOW, False)

    def test_over_range_passes_only_when_the_scale_reaches_the_limit(self) -> None:
        assert judged(NEW_POE, limit_megohm=100).is_pass
        assert judged(NEW_POE, limit_megohm=1000).verdict is ComponentVerdict.RANGE_BELOW_LIMIT

    def test_an_upper_bound_never_meets_a_limit(self) -> None:
        assert judged(reading(50, comparator="<"), limit_megohm=10).verdict is ComponentVerdict.BELOW_LIMIT

    def test_cautions_and_a_short_duration_are_said(self) -> None:
        result = component_test(reading(100), working_voltage_v=400, bus=Bus.DC, duration_s=10)

        assert {notice.code for notice in result.warnings} == {
            "isolated",
            "electronics",
            "warm",
            "short_duration",
        }

    @given(st.floats(0.001, 1e6), st.floats(1.0, 100.0), st.floats(0.01, 1e4))
    def test_a_higher_value_never_turns_a_pass_into_a_failure(
        self, megohm: float, factor: float, limit: float
    ) -> None:
        if judged(reading(megohm), limit_megohm=limit).is_pass:
            assert judged(reading(megohm * factor), limit_megohm=limit).is_pass

    @pytest.mark.parametrize(
        ("seen", "sentence"),
        [
            (reading(math.nan), "resistance is missing or not a number"),
            (reading(1e12), "between 1 ohm and 1000 teraohm"),
            (reading(1, volts=0), "between 0.1 and 5000 V"),
            (reading(1, comparator="~"), "a value, above"),
        ],
    )
    def test_impossible_readings_are_refused(self, seen: InsulationReading, sentence: str) -> None:
        with pytest.raises(Refusal, match=sentence):
            judged(seen)

    def test_impossible_voltages_and_durations_are_refused(self) -> None:
        with pytest.raises(Refusal, match="between 1 and 1500 V"):
            judged(reading(1), working_v=4000)
        with pytest.raises(Refusal, match="between 0 s and one day"):
            component_test(reading(1), working_voltage_v=400, bus=Bus.DC, duration_s=-1)


class TestTheTester:
    def test_it_says_what_it_could_still_prove(self) -> None:
        seen = collapsed()

        assert seen.rated_current_a == pytest.approx(0.51e-3, rel=0.01)
        assert not seen.delivers_rated_current
        assert "less than 1 mA" in seen.warnings[0].message

    def test_a_strong_tester_has_no_warning(self) -> None:
        seen = loaded_tester(526, 500, 0.5 * MEGOHM, nominal_voltage_v=500)

        assert seen.delivers_rated_current
        assert seen.warnings == ()

    def test_an_open_voltage_below_ninety_percent_never_counts(self) -> None:
        assert loaded_tester(400, 120, 0.15 * MEGOHM, nominal_voltage_v=500).smallest_at_nominal_ohm is None

    def test_a_loaded_voltage_above_the_open_one_is_refused(self) -> None:
        with pytest.raises(Refusal, match="not below the open voltage"):
            loaded_tester(500, 500, MEGOHM, nominal_voltage_v=500)

    @given(st.floats(1, 5000), st.floats(0.1, 5000), st.floats(1, 1e15))
    def test_the_loaded_reading_comes_back(self, opened: float, loaded: float, ohm: float) -> None:
        seen = answer_or_refusal(lambda: loaded_tester(opened, loaded, ohm, nominal_voltage_v=500))

        assert_sound(seen)
        if not isinstance(seen, Refusal):
            assert seen.voltage_v(ohm) == pytest.approx(loaded, rel=1e-6)


class TestTemperatureAndRatios:
    def test_the_rule_is_a_rule_of_windings_with_a_spread(self) -> None:
        result = at_reference(10 * MEGOHM, 293.15, reference_k=313.15)

        assert (result.low_ohm / MEGOHM, result.high_ohm / MEGOHM) == pytest.approx((2.0, 3.125))
        assert "repeat warm" in result.warnings[0].message

    def test_it_does_not_reach_far_nor_into_dew(self) -> None:
        with pytest.raises(Refusal, match="More than 30 K"):
            at_reference(MEGOHM, 273.15, reference_k=313.15)
        with pytest.raises(Refusal, match="near or below the dew point"):
            at_reference(MEGOHM, 285.15, reference_k=293.15, dew_point_k=284.15)

    @given(st.floats(280, 310), st.floats(280, 310), st.floats(1e3, 1e12))
    def test_there_and_back(self, first: float, second: float, ohm: float) -> None:
        there = at_reference(ohm, first, reference_k=second).resistance_ohm

        assert at_reference(there, second, reference_k=first).resistance_ohm == pytest.approx(ohm)

    def test_ratios_are_shown_and_decide_nothing(self) -> None:
        result = ratios(100e6, 130e6, 260e6, insulation_class=InsulationClass.F)

        assert (result.absorption_ratio, result.absorption_band) == (1.3, "fair")
        assert (result.polarisation_index, result.minimum_index) == (2.0, 2.0)
        assert result.warnings[0].code == "shown_only"

    def test_the_index_means_nothing_above_five_gigaohm(self) -> None:
        with pytest.raises(Refusal, match="Above 5 gigaohm"):
            ratios(4e9, 5.1e9, 9e9, insulation_class=InsulationClass.F)
        assert ratios(4e9, 5.1e9, insulation_class=InsulationClass.F).polarisation_index is None


@given(
    st.lists(ANY_FLOAT, min_size=6, max_size=6), st.sampled_from(["=", ">", "<", "?"]), st.sampled_from(Bus)
)
def test_any_numbers_give_a_result_or_a_refusal(numbers: list[float], comparator: str, bus: Bus) -> None:
    ohm, nominal, actual, working, duration, limit = numbers
    seen = InsulationReading(ohm, nominal, actual, comparator)

    for question in (
        lambda: component_test(
            seen, working_voltage_v=working, bus=bus, duration_s=duration, limit_ohm=limit
        ),
        lambda: sample_test([seen], mixed=True, new_oil=NEW_POE),
        lambda: floor(working, bus),
        lambda: at_reference(ohm, nominal, reference_k=actual, dew_point_k=working),
        lambda: ratios(ohm, nominal, actual, insulation_class=InsulationClass.A),
    ):
        assert_sound(answer_or_refusal(question))
