"""A diagnosis is refused where its readings mean nothing, and never breaks."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shopcool.engineering.diagnosis import (
    Cause,
    CompressorGate,
    Conditions,
    Diagnosis,
    Drive,
    Grade,
    Measured,
    Metering,
    Mode,
    Observations,
    Port,
    Sign,
    Window,
    compressor_gate,
    diagnose,
    grade_window,
)
from shopcool.engineering.errors import Refusal
from tests.engineering.checks import answer_or_refusal
from tests.engineering.soundness import ANY_FLOAT, assert_sound
from tests.engineering.vehicle_readings import AIR_FREE, ORDINARY


class TestGuards:
    @pytest.mark.parametrize(
        ("conditions", "code", "sentence"),
        [
            (replace(ORDINARY, mode=Mode.UNKNOWN), "mode", "Say first whether"),
            (replace(ORDINARY, mode=Mode.HEAT_PUMP), "mode", "outer exchanger evaporates"),
            (replace(ORDINARY, ambient_k=287.0), "cold", "Below 15 °C"),
            (replace(ORDINARY, steady_s=299), "not_steady", "at least 5 minutes"),
            (
                replace(ORDINARY, doors_open=False, recirculating=False),
                "conditions",
                "open the doors",
            ),
            (replace(ORDINARY, ambient_k=math.nan), "not_a_number", "temperature is missing"),
        ],
    )
    def test_wrong_conditions_are_refused_with_what_to_change(
        self, conditions: Conditions, code: str, sentence: str
    ) -> None:
        with pytest.raises(Refusal, match=sentence) as refused:
            diagnose(AIR_FREE, conditions)
        assert refused.value.code == code

    def test_too_little_is_refused(self) -> None:
        with pytest.raises(Refusal, match="Too little was measured"):
            diagnose(Observations(superheat_k=Measured(5, 1)), ORDINARY)

    @pytest.mark.parametrize(
        ("measured", "sentence"),
        [
            (Measured(math.nan, 1), "reading is missing or not a number"),
            (Measured(500, 1), "far outside what a vehicle can show"),
            (Measured(5, -1), "between 0 and a million"),
            (Measured(5, math.inf), "uncertainty of a reading is missing"),
        ],
    )
    def test_impossible_readings_are_refused(self, measured: Measured, sentence: str) -> None:
        with pytest.raises(Refusal, match=sentence):
            diagnose(replace(AIR_FREE, superheat_k=measured), ORDINARY)


class TestAMakersWindow:
    WINDOW = Window((150e3, 250e3), (1370e3, 1570e3), (303.15, 308.15), "1500 rpm, recirculating", "manual")

    def test_readings_at_another_inlet_temperature_are_not_graded(self) -> None:
        with pytest.raises(Refusal, match="30 to 35 °C and 1500 rpm, recirculating: bring the test there"):
            grade_window(120e3, 900e3, 293.15, self.WINDOW)

    def test_inside_its_conditions_each_side_is_graded(self) -> None:
        result = grade_window(120e3, 1600e3, 305.15, self.WINDOW)

        assert (result.low_side, result.high_side) == (Grade.BELOW, Grade.ABOVE)
        assert grade_window(150e3, 1570e3, 303.15, self.WINDOW).low_side is Grade.INSIDE

    def test_nonsense_is_refused(self) -> None:
        with pytest.raises(Refusal, match="above a perfect vacuum"):
            grade_window(-1e6, 900e3, 305.15, self.WINDOW)


MEASURED = st.one_of(st.none(), st.builds(Measured, ANY_FLOAT, ANY_FLOAT))


@given(
    st.builds(
        Observations,
        condensing_k=MEASURED,
        evaporating_k=MEASURED,
        vent_k=MEASURED,
        superheat_k=MEASURED,
        subcooling_k=MEASURED,
        ratio=MEASURED,
        static_excess_pa=MEASURED,
        charge_share=MEASURED,
        signs=st.dictionaries(st.sampled_from(Sign), st.booleans()),
    ),
    st.builds(
        Conditions,
        mode=st.sampled_from(Mode),
        drive=st.sampled_from(Drive),
        metering=st.sampled_from(Metering),
        port=st.sampled_from(Port),
        ambient_k=st.one_of(st.none(), ANY_FLOAT),
        steady_s=st.one_of(ANY_FLOAT, st.just(600.0)),
    ),
)
def test_any_readings_give_a_ranking_of_all_causes_or_a_refusal(
    seen: Observations, conditions: Conditions
) -> None:
    outcome = answer_or_refusal(lambda: diagnose(seen, conditions))

    if isinstance(outcome, Diagnosis):
        assert_sound(outcome.causes)
        assert {entry.cause for entry in outcome.causes} == set(Cause)


@given(ANY_FLOAT, ANY_FLOAT, ANY_FLOAT)
def test_gate_and_window_answer_or_refuse(one: float, two: float, three: float) -> None:
    gate = answer_or_refusal(lambda: compressor_gate(recovered_kg=one, label_kg=two, airflow_checked=True))
    assert isinstance(gate, CompressorGate | Refusal)
    assert_sound(gate)
    assert_sound(answer_or_refusal(lambda: grade_window(one, two, three, TestAMakersWindow.WINDOW)))
