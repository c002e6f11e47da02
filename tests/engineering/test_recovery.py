"""A recovered weight is a lower bound, and a loss per year has an uncertainty."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shopcool.engineering.errors import Refusal
from shopcool.engineering.recovery import (
    EFFICIENCY,
    Loss,
    LossVerdict,
    Recovery,
    Verdict,
    loss_per_year,
    recovery,
)
from tests.engineering.checks import Check, answer_or_refusal, assert_holds, each
from tests.engineering.soundness import ANY_FLOAT, assert_sound


def recovered(
    celsius: float,
    *,
    accumulator: bool = False,
    certified: bool = True,
    returned: bool = False,
    waited_s: float = 0,
) -> Recovery:
    return recovery(
        0.400,
        ambient_k=celsius + 273.15,
        accumulator=accumulator,
        certified_machine=certified,
        pressure_returned=returned,
        waited_s=waited_s,
    )


def share_left(result: Recovery) -> float:
    return result.remaining_high_kg / result.before_high_kg


def two_years(recovered_kg: float = 0.380, years: float = 2.0) -> Loss:
    """A label of 450 g, recovered after two years, scale and label good for 15 g."""
    return loss_per_year(0.450, recovered_kg, years=years, start_tolerance_kg=0.015, scale_accuracy_kg=0.015)


def standard_by_hand() -> float:
    """Return the standard uncertainty [kg/year] of label, scale and efficiency, each rectangular."""
    return math.hypot(0.015, 0.015 / 0.95, 0.38 / 0.95**2 * 0.05) / math.sqrt(3) / 2


CHECKS = (
    Check(
        "recovery",
        "least efficiency of a certified machine",
        lambda: EFFICIENCY,
        0.95,
        1e-12,
        "SAE J2788 in 40 CFR 82 Subpart B Appendix C, 7.1.1",
        "published",
    ),
    Check(
        "recovery",
        "share left by an older machine in the cold",
        lambda: share_left(recovered(10)),
        0.30,
        1e-9,
        "86 FR 15587 (2021), preamble",
        "published",
    ),
    Check(
        "recovery",
        "share left by an older machine at 21 °C",
        lambda: share_left(recovered(21, certified=False)),
        0.18,
        1e-9,
        "trade article on the older equipment",
        "common practice",
    ),
    Check(
        "recovery",
        "450 g label, 380 g after 2 years, g/year",
        lambda: 1e3 * two_years().loss_kg_year,
        25.0,
        1e-9,
        "(450 - 380 / 0.95) / 2",
        "arithmetic",
    ),
    Check(
        "recovery",
        "its standard uncertainty, g/year",
        lambda: 1e3 * two_years().standard_kg_year,
        1e3 * standard_by_hand(),
        1e-9,
        "GUM propagation of three rectangular contributions",
        "arithmetic",
    ),
)


@each(CHECKS)
def test_it_agrees_with_the_world_outside(check: Check) -> None:
    assert_holds(check)


class TestWhatWasInTheCircuit:
    @pytest.mark.parametrize(
        ("celsius", "accumulator", "certified", "share"),
        [
            (21.0, False, True, 0.05),
            (21.0, False, False, 0.18),
            (20.9, False, True, 0.18),
            (20.9, True, True, 0.30),
            (15.0, False, True, 0.18),
            (14.9, False, True, 0.30),
        ],
    )
    def test_cold_accumulators_and_old_machines_leave_more(
        self, celsius: float, accumulator: bool, certified: bool, share: float
    ) -> None:
        result = recovered(celsius, accumulator=accumulator, certified=certified)

        assert share_left(result) == pytest.approx(share)
        assert result.before_low_kg == 0.400

    def test_a_second_pull_is_asked_for(self) -> None:
        assert recovered(22).verdict is Verdict.LOWER_BOUND
        assert recovered(22, returned=True).verdict is Verdict.SECOND_PULL_DUE
        assert recovered(22, waited_s=600).verdict is Verdict.LOWER_BOUND
        assert recovered(22, waited_s=601).verdict is Verdict.SECOND_PULL_DUE

    def test_it_never_says_leaked(self) -> None:
        for result in (recovered(10, accumulator=True), recovered(22, returned=True)):
            words = result.sentence + " ".join(notice.message for notice in result.warnings)
            assert "leak" not in words
            assert "proves no loss" in words

    @given(st.floats(0, 50), st.floats(233.15, 353.15), st.floats(0, 60))
    def test_a_colder_circuit_never_holds_less(self, mass: float, ambient: float, colder: float) -> None:
        def before(kelvin: float) -> float:
            return recovery(mass, ambient_k=kelvin, accumulator=False, certified_machine=True).before_high_kg

        assert before(max(ambient - colder, 233.15)) >= before(ambient) >= mass


class TestLossPerYear:
    def test_efficiency_matters(self) -> None:
        perfect = loss_per_year(
            0.450, 0.380, years=2, start_tolerance_kg=0.015, scale_accuracy_kg=0.015, efficiency=1.0
        )

        assert (two_years().loss_kg_year, perfect.loss_kg_year) == (
            pytest.approx(0.025),
            pytest.approx(0.035),
        )

    def test_the_uncertainty_is_about_nine_grams_a_year(self) -> None:
        assert round(1e3 * two_years().standard_kg_year) == 9

    def test_what_is_within_the_uncertainty_is_no_loss(self) -> None:
        assert two_years(0.380).verdict is LossVerdict.MISSING
        assert two_years(0.420).verdict is LossVerdict.WITHIN_UNCERTAINTY
        assert two_years(0.480).verdict is LossVerdict.MORE_THAN_LABEL

    def test_a_loss_a_vacuum_hold_cannot_see_asks_for_a_detector(self) -> None:
        result = two_years(0.300, years=1.0)

        assert "above_type_approval" in {notice.code for notice in result.warnings}
        assert "detector or with nitrogen before charging" in result.warnings[1].message

    @given(st.floats(0.2, 1.0), st.floats(0.0, 1.0), st.floats(0.1, 10))
    def test_less_recovered_never_means_less_lost(self, start: float, share: float, years: float) -> None:
        def lost(recovered_kg: float) -> float:
            return loss_per_year(
                start, recovered_kg, years=years, start_tolerance_kg=0.01, scale_accuracy_kg=0.01
            ).loss_kg_year

        assert lost(start * share) <= lost(start * share * 0.9)


@pytest.mark.parametrize(
    ("recovered_kg", "years", "tolerance", "code", "sentence"),
    [
        (0.563, 2.0, 0.015, "over", "More than 125 %"),
        (0.4, 0.0, 0.015, "years", "between one day and 60 years"),
        (0.4, -1.0, 0.015, "years", "between one day and 60 years"),
        (-0.1, 2.0, 0.015, "mass", "mass must be between"),
        (0.4, 2.0, -0.1, "tolerance", "tolerance must be between"),
        (math.nan, 2.0, 0.015, "not_a_number", "mass is missing or not a number"),
    ],
)
def test_nonsense_is_refused(
    recovered_kg: float, years: float, tolerance: float, code: str, sentence: str
) -> None:
    with pytest.raises(Refusal, match=sentence) as refused:
        loss_per_year(0.450, recovered_kg, years=years, start_tolerance_kg=tolerance, scale_accuracy_kg=0.015)
    assert refused.value.code == code


def test_impossible_conditions_are_refused() -> None:
    with pytest.raises(Refusal, match="between -40 and 80 °C"):
        recovered(200)
    with pytest.raises(Refusal, match="between 0 and 30 days"):
        recovered(20, waited_s=-1)
    with pytest.raises(Refusal, match="between 50 and 100 %"):
        loss_per_year(0.45, 0.3, years=1, start_tolerance_kg=0, scale_accuracy_kg=0, efficiency=0.1)


@given(st.lists(ANY_FLOAT, min_size=7, max_size=7), st.booleans(), st.booleans())
def test_any_numbers_give_a_result_or_a_refusal(numbers: list[float], first: bool, second: bool) -> None:
    start, mass, years, tolerance, accuracy, efficiency, half_width = numbers
    assert_sound(
        answer_or_refusal(
            lambda: loss_per_year(
                start,
                mass,
                years=years,
                start_tolerance_kg=tolerance,
                scale_accuracy_kg=accuracy,
                efficiency=efficiency,
                efficiency_half_width=half_width,
            )
        )
    )
    assert_sound(
        answer_or_refusal(
            lambda: recovery(
                mass, ambient_k=start, accumulator=first, certified_machine=second, waited_s=years
            )
        )
    )
