"""A vacuum hold tells leak from moisture, says when it can't, and never says "tight"."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from iapws._iapws import _Sublimation_Pressure

from shopcool.engineering.errors import Refusal
from shopcool.engineering.quantities import Kind, atmosphere_from_altitude_pa, from_unit
from shopcool.engineering.vacuum_hold import (
    NeedleVerdict,
    PairVerdict,
    VacuumHold,
    Verdict,
    analyse_hold,
    compare_holds,
    needle_hold,
)
from shopcool.engineering.vacuum_hold.fit import fit_rise
from shopcool.engineering.vacuum_hold.readings import water_limit_pa
from tests.engineering.checks import Check, answer_or_refusal, assert_holds, each
from tests.engineering.soundness import ANY_FLOAT, assert_sound

MICRON_PA = 101325 / 760_000
INHG_PA = 3386.389
ROOM_K = 293.15


def hold(
    course: object,
    *,
    minutes: float = 20,
    step_s: float = 30,
    noise_pa: float = 1.0,
    resolution_pa: float = 0.1,
    temperature_k: float = ROOM_K,
    seed: int = 1,
) -> VacuumHold:
    """Judge a synthetic hold: a course over time [s] with white noise, read on a gauge with steps."""
    assert callable(course)
    times = np.arange(0, minutes * 60 + 1, step_s)
    noise = np.random.default_rng(seed).normal(0, noise_pa, times.size)
    pressures = np.round((course(times) + noise) / resolution_pa) * resolution_pa
    return analyse_hold(
        times.tolist(), pressures.tolist(), temperature_k=temperature_k, resolution_pa=resolution_pa
    )


def leak_and_moisture(times: np.ndarray) -> np.ndarray:
    return 50 + 0.1 * times + 200 * (1 - np.exp(-times / 120))


def moisture(times: np.ndarray) -> np.ndarray:
    return 50 + 200 * (1 - np.exp(-times / 120))


def training_fit() -> tuple[float, float]:
    """Fit the training record: time constant [s] and share of the steady part [-] in the whole rise."""
    times = np.array([0.0, 60.0, 180.0, 300.0, 600.0])
    pressures = np.array([20.0, 30.0, 43.0, 50.0, 58.0])
    best = fit_rise(times, pressures, noise_pa=0.3, largest_transient_pa=2339.0).best
    return best.transient_time_s, best.rate_pa_s * 600.0 / 38.0


TRAINING = "vacuum training record 0.20 to 0.58 mbar in 10 min, answer there: outgassing"
CHECKS = (
    Check(
        "vacuum hold",
        "time constant of the training record, s",
        lambda: training_fit()[0],
        180.0,
        0.05,
        "another fit of the " + TRAINING,
        "arithmetic",
    ),
    Check(
        "vacuum hold",
        "steady share of the training record",
        lambda: training_fit()[1],
        0.15,
        0.03,
        "another fit of the " + TRAINING,
        "arithmetic",
        absolute=True,
    ),
    Check(
        "vacuum hold",
        "water stops evaporating at 20 °C, Pa",
        lambda: water_limit_pa(293.15),
        2338.8,
        5e-4,
        "CRC Handbook of Chemistry and Physics, 1992-93, vapour pressure of water",
        "published",
    ),
    Check(
        "vacuum hold",
        "ice stops evaporating at -10 °C, Pa",
        lambda: water_limit_pa(263.15),
        lambda: 1e6 * _Sublimation_Pressure(263.15),
        1e-4,
        "iapws, sublimation pressure",
        "independent library",
    ),
    Check(
        "vacuum hold",
        "deepest vacuum at 5000 ft, inHg",
        lambda: atmosphere_from_altitude_pa(1524.0) / INHG_PA,
        24.9,
        2e-3,
        "standard atmosphere at 5000 ft as printed in workshop tables",
        "common practice",
    ),
)


@each(CHECKS)
def test_it_agrees_with_the_world_outside(check: Check) -> None:
    assert_holds(check)


class TestOneHold:
    def test_a_bending_rise_is_outgassing_and_bounds_the_leak(self) -> None:
        result = hold(moisture)

        assert result.verdict is Verdict.OUTGASSING
        assert result.rate_low_pa_s == 0
        assert 0 < result.rate_high_pa_s < 1 / 60
        assert result.fit.best.transient_time_s == pytest.approx(120, rel=0.1)

    def test_a_straight_rise_is_a_leak(self) -> None:
        result = hold(lambda times: 50 + 0.1 * times)

        assert result.verdict is Verdict.LEAK
        assert result.rate_low_pa_s < 0.1 < result.rate_high_pa_s

    def test_both_together_are_told_apart(self) -> None:
        result = hold(leak_and_moisture)

        assert result.verdict is Verdict.LEAK_AND_OUTGASSING
        assert result.rate_low_pa_s < 0.1 < result.rate_high_pa_s

    def test_no_rise_is_never_called_tight(self) -> None:
        result = hold(lambda times: 50 + 0 * times)

        assert result.verdict is Verdict.NO_RISE
        assert "No leak larger than" in result.sentence
        assert result.rate_high_pa_s > 0

    def test_a_bend_slower_than_the_hold_cannot_be_separated(self) -> None:
        result = hold(lambda times: 50 + 200 * (1 - np.exp(-times / 600)), minutes=10)

        assert result.verdict is Verdict.CANNOT_SEPARATE
        assert {notice.code for notice in result.warnings} >= {"too_short", "gross_check"}

    @pytest.mark.parametrize(
        "course",
        [
            pytest.param(lambda t: 50 + 200 * np.sqrt(t / 1200), id="diffusion"),
            pytest.param(lambda t: 50 + 60 * np.log1p(t / 30), id="desorption"),
            pytest.param(
                lambda t: 50 + 100 * (1 - np.exp(-t / 60)) + 200 * (1 - np.exp(-t / 900)), id="two transients"
            ),
        ],
    )
    def test_slow_outgassing_is_not_called_a_leak(self, course: object) -> None:
        verdicts = [hold(course, seed=seed).verdict for seed in range(20)]

        assert verdicts.count(Verdict.RATE_NOT_CONSTANT) >= 16

    @pytest.mark.parametrize("course", [leak_and_moisture, lambda t: 50 + 0.1 * t])
    def test_a_real_leak_keeps_its_rate_in_every_part_of_the_hold(self, course: object) -> None:
        verdicts = [hold(course, seed=seed).verdict for seed in range(40)]

        assert verdicts.count(Verdict.RATE_NOT_CONSTANT) <= 1

    def test_a_plateau_far_below_water_is_not_called_water(self) -> None:
        result = hold(lambda t: 100 + 60 * (1 - np.exp(-t / 120)))  # levels at 1200 micron, room temperature

        assert 100 < result.fit.best.start_pa + result.fit.best.transient_pa < 0.1 * result.water_limit_pa
        assert "below_water" in {notice.code for notice in result.warnings}

    def test_a_hold_above_the_vapour_pressure_of_water_says_nothing_about_dryness(self) -> None:
        result = hold(lambda t: 60_000 * MICRON_PA / 2 + 0.5 * t, resolution_pa=10.0)

        assert "not_deep_enough" in {notice.code for notice in result.warnings}

    def test_the_band_of_the_chart_encloses_the_fit(self) -> None:
        fit = hold(leak_and_moisture).fit

        middle = [fit.best.pressure_pa(time) for time in (0.0, 600.0, 1200.0)]
        assert middle == pytest.approx([50, 308.7, 370.0], abs=3)
        assert fit.lowest.rate_pa_s <= fit.best.rate_pa_s <= fit.highest.rate_pa_s


class TestTheGauge:
    def test_coarse_steps_widen_the_answer(self) -> None:
        fine = hold(leak_and_moisture, minutes=10)
        coarse = hold(leak_and_moisture, minutes=10, resolution_pa=13.3)

        assert (coarse.rate_high_pa_s - coarse.rate_low_pa_s) > 3 * (fine.rate_high_pa_s - fine.rate_low_pa_s)

    def test_a_gauge_of_one_millibar_cannot_separate(self) -> None:
        result = hold(
            lambda t: 3000 + leak_and_moisture(t), minutes=10, resolution_pa=100.0, temperature_k=313.15
        )

        assert result.verdict in (Verdict.CANNOT_SEPARATE, Verdict.GAUGE_TOO_COARSE)

    @pytest.mark.parametrize("resolution_pa", [2000.0, INHG_PA / 2])
    def test_a_needle_gauge_is_too_coarse_whatever_it_shows(self, resolution_pa: float) -> None:
        result = hold(lambda t: 8000 + 2.0 * t, resolution_pa=resolution_pa)

        assert result.verdict is Verdict.GAUGE_TOO_COARSE
        assert "too coarse" in result.sentence

    def test_a_rise_between_two_steps_is_not_missed_by_the_bound(self) -> None:
        result = hold(lambda t: 50 + 0.005 * t, noise_pa=0.0, resolution_pa=13.3)

        assert result.rate_low_pa_s <= 0.005 <= result.rate_high_pa_s


class TestTwoHolds:
    def test_a_leak_comes_back(self) -> None:
        first = hold(leak_and_moisture, seed=1)
        second = hold(lambda t: 40 + 0.1 * t + 60 * (1 - np.exp(-t / 120)), seed=2)

        assert compare_holds(first, second).verdict is PairVerdict.LEAK_CONFIRMED

    def test_refrigerant_leaving_oil_slows_down(self) -> None:
        first = hold(lambda t: 50 + 800 * (1 - np.exp(-t / 7200)), seed=1)
        second = hold(lambda t: 50 + 300 * (1 - np.exp(-t / 7200)), seed=2)

        result = compare_holds(first, second)

        assert first.shows_steady_rise
        assert result.verdict is PairVerdict.RATE_FELL
        assert result.rate_bound_pa_s == second.rate_high_pa_s
        assert result.warnings[0].code == "may_hide_leak"

    def test_a_shrinking_plateau_is_drying(self) -> None:
        result = compare_holds(hold(moisture), hold(lambda t: 30 + 80 * (1 - np.exp(-t / 120)), seed=2))

        assert result.verdict is PairVerdict.DRYING

    def test_a_rate_that_rose_is_not_called_outgassing(self) -> None:
        result = compare_holds(hold(lambda t: 50 + 0.02 * t), hold(lambda t: 50 + 0.1 * t, seed=2))

        assert result.verdict is PairVerdict.RATE_ROSE

    def test_nothing_the_second_time_is_said_so(self) -> None:
        result = compare_holds(hold(moisture), hold(lambda t: 30 + 0 * t, seed=2))

        assert result.verdict is PairVerdict.NO_RISE

    def test_two_that_say_nothing_say_nothing_together(self) -> None:
        unclear = hold(lambda t: 50 + 200 * (1 - np.exp(-t / 600)), minutes=10)

        assert compare_holds(unclear, unclear).verdict is PairVerdict.CANNOT_SEPARATE

    def test_unlike_holds_are_refused(self) -> None:
        first = hold(moisture)

        with pytest.raises(Refusal, match="differ by more than 10 K"):
            compare_holds(first, hold(moisture, temperature_k=308.15))
        with pytest.raises(Refusal, match="less than half as long"):
            compare_holds(first, hold(moisture, minutes=8))
        with pytest.raises(Refusal, match="too coarse to compare"):
            compare_holds(first, hold(lambda t: 8000 + 2.0 * t, resolution_pa=2000.0))


class TestANeedleGauge:
    AT_5000_FT = atmosphere_from_altitude_pa(1524.0)

    def check(self, first: float, last: float, *, atmosphere_pa: float = 101325.0) -> NeedleVerdict:
        return needle_hold(
            first * INHG_PA,
            last * INHG_PA,
            duration_s=300,
            atmosphere_pa=atmosphere_pa,
            resolution_pa=INHG_PA / 2,
            allowed_loss_pa=INHG_PA,
        ).verdict

    def test_twenty_nine_inches_at_altitude_are_an_error_of_the_instrument(self) -> None:
        assert self.check(29.9, 29.9, atmosphere_pa=self.AT_5000_FT) is NeedleVerdict.INSTRUMENT_IMPOSSIBLE
        assert self.check(24.0, 24.0, atmosphere_pa=self.AT_5000_FT) is NeedleVerdict.NO_GROSS_RISE

    def test_passing_is_called_no_gross_leak_and_no_more(self) -> None:
        result = needle_hold(
            29.0 * INHG_PA,
            28.5 * INHG_PA,
            duration_s=300,
            atmosphere_pa=101325.0,
            resolution_pa=INHG_PA / 2,
            allowed_loss_pa=INHG_PA,
        )

        assert result.sentence.startswith("No gross leak. A needle gauge can't show dryness")
        assert result.last_pressure_pa == pytest.approx(101325 - 28.5 * INHG_PA)
        assert result.rate_high_pa_s == pytest.approx(INHG_PA / 300)

    def test_a_larger_loss_than_the_rule_allows_is_gross(self) -> None:
        assert self.check(29.0, 27.0) is NeedleVerdict.GROSS_RISE
        assert self.check(29.0, 28.0) is NeedleVerdict.NO_GROSS_RISE

    @pytest.mark.parametrize(
        ("changed", "sentence"),
        [
            ({"atmosphere_pa": 1013.0}, "hPa entered as Pa"),
            ({"duration_s": 5}, "between 1 minute and 7 days"),
            ({"resolution_pa": 0}, "smallest step of a needle gauge"),
            ({"allowed_loss_pa": -1}, "allowed loss must be between"),
            ({"duration_s": math.nan}, "The duration is missing or not a number"),
        ],
    )
    def test_nonsense_is_refused(self, changed: dict[str, float], sentence: str) -> None:
        ordinary = {
            "duration_s": 300.0,
            "atmosphere_pa": 101325.0,
            "resolution_pa": 1700.0,
            "allowed_loss_pa": 3386.0,
        }

        with pytest.raises(Refusal, match=sentence):
            needle_hold(95_000.0, 94_000.0, **{**ordinary, **changed})

    @given(st.lists(ANY_FLOAT, min_size=6, max_size=6))
    def test_any_numbers_give_a_result_or_a_refusal(self, numbers: list[float]) -> None:
        first, last, duration, atmosphere, resolution, allowed = numbers
        assert_sound(
            answer_or_refusal(
                lambda: needle_hold(
                    first,
                    last,
                    duration_s=duration,
                    atmosphere_pa=atmosphere,
                    resolution_pa=resolution,
                    allowed_loss_pa=allowed,
                )
            )
        )


class TestRefusals:
    TIMES = tuple(float(time) for time in range(0, 301, 30))

    @pytest.mark.parametrize(
        ("times", "pressures", "code", "sentence"),
        [
            (TIMES[:7], (50.0,) * 7, "few", "at least 8 readings; there are 7"),
            (tuple(20.0 * i for i in range(11)), (50.0,) * 11, "short", "less than 4 minutes"),
            (tuple(86400.0 * i for i in range(11)), (50.0,) * 11, "long", "more than 7 days"),
            (TIMES, (50.0,) * 10 + (0.0,), "neg", "at or below a perfect vacuum"),
            (TIMES, (50.0,) * 10 + (20_001.0,), "not_vacuum", "above 200 mbar"),
            ((0.0, 0.0, *TIMES[2:]), (50.0,) * 11, "dup", "share a time or run backwards"),
            (TIMES, (50.0,) * 10, "pairs", "differ in length"),
            (TIMES, (50.0,) * 10 + (math.nan,), "not_a_number", "A pressure is missing or not a number"),
            ((*TIMES[:10], math.inf), (50.0,) * 11, "not_a_number", "time of a reading is missing"),
            (TIMES, tuple(500.0 - 40 * i for i in range(11)), "falling", "pressure falls during the hold"),
        ],
    )
    def test_readings_nothing_can_rest_on(
        self, times: tuple[float, ...], pressures: tuple[float, ...], code: str, sentence: str
    ) -> None:
        with pytest.raises(Refusal, match=sentence) as refused:
            analyse_hold(times, pressures, temperature_k=ROOM_K, resolution_pa=0.1)
        assert refused.value.code == code

    @pytest.mark.parametrize(
        ("changed", "sentence"),
        [
            ({"temperature_k": 20.0}, "between -40 and 80 °C"),
            ({"resolution_pa": 0.0}, "smallest step of the gauge"),
            ({"noise_pa": -1.0}, "noise of the gauge"),
        ],
    )
    def test_an_impossible_instrument_or_temperature(self, changed: dict[str, float], sentence: str) -> None:
        with pytest.raises(Refusal, match=sentence):
            analyse_hold(
                self.TIMES, (50.0,) * 11, **{"temperature_k": ROOM_K, "resolution_pa": 0.1, **changed}
            )

    def test_readings_below_perfect_vacuum_never_reach_the_fit(self) -> None:
        with pytest.raises(Refusal, match="below a perfect vacuum"):
            from_unit(29.9, "inHg", Kind.PRESSURE, basis="vacuum", atmosphere_pa=84_300.0)


@given(
    st.lists(st.tuples(st.floats(0.1, 120), st.one_of(st.floats(0.01, 20_000), ANY_FLOAT)), max_size=30),
    st.one_of(ANY_FLOAT, st.floats(233, 353)),
    st.one_of(ANY_FLOAT, st.floats(0.001, 100)),
    st.one_of(ANY_FLOAT, st.just(0.0)),
)
def test_any_series_gives_a_result_or_a_refusal(
    steps: list[tuple[float, float]], temperature: float, resolution: float, noise: float
) -> None:
    times = np.cumsum([step for step, _ in steps]).tolist()
    outcome = answer_or_refusal(
        lambda: analyse_hold(
            times,
            [pressure for _, pressure in steps],
            temperature_k=temperature,
            resolution_pa=resolution,
            noise_pa=noise,
        )
    )

    assert_sound(outcome)
    if isinstance(outcome, VacuumHold):
        assert 0 <= outcome.rate_low_pa_s <= outcome.rate_pa_s <= outcome.rate_high_pa_s


@given(st.floats(0.01, 1.0), st.floats(1.1, 5.0))
def test_a_faster_rise_has_a_larger_bound(rate: float, factor: float) -> None:
    slow = hold(lambda t: 50 + rate * t, minutes=10)
    fast = hold(lambda t: 50 + rate * factor * t, minutes=10)

    assert fast.rate_high_pa_s > slow.rate_high_pa_s


def test_shifting_time_or_pressure_changes_nothing() -> None:
    times = np.arange(0, 1201, 30.0)
    pressures = leak_and_moisture(times) + np.random.default_rng(3).normal(0, 1, times.size)

    plain = analyse_hold(times.tolist(), pressures.tolist(), temperature_k=ROOM_K, resolution_pa=0.1)
    moved = analyse_hold(
        (times + 5000).tolist(), (pressures + 300).tolist(), temperature_k=ROOM_K, resolution_pa=0.1
    )

    assert moved.rate_low_pa_s == pytest.approx(plain.rate_low_pa_s, rel=1e-4)
    assert moved.rate_high_pa_s == pytest.approx(plain.rate_high_pa_s, rel=1e-4)
