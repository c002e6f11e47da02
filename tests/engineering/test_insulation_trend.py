"""The trend of insulation over visits, with readings over range taken as limits."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize
from scipy.stats import linregress, norm, t

from shopcool.engineering.errors import Refusal
from shopcool.engineering.insulation import Trend, TrendVerdict, Visit, trend
from tests.engineering.checks import Check, answer_or_refusal, assert_holds, each
from tests.engineering.soundness import ANY_FLOAT, assert_sound

MEGOHM = 1e6
# Five yearly visits that fall to 0.55 a year, scattered by more than a tester may err.
FALLING = [Visit(float(year), ohm * MEGOHM) for year, ohm in enumerate((1220, 428, 334, 193, 75))]
STEADY = [Visit(float(year), ohm * MEGOHM) for year, ohm in enumerate((500, 560, 480, 520))]
# Two visits over range at 550 megohm, then values.
CENSORED = [
    Visit(0.0, 550 * MEGOHM, over_range=True),
    Visit(1.0, 550 * MEGOHM, over_range=True),
    Visit(2.0, 300 * MEGOHM),
    Visit(3.0, 165 * MEGOHM),
    Visit(4.0, 91 * MEGOHM),
]


def known(value: float | None) -> float:
    assert value is not None
    return value


def of(visits: list[Visit], limit_megohm: float | None = None) -> Trend:
    return trend(
        visits,
        next_visit_years=visits[-1].years + 1,
        limit_ohm=None if limit_megohm is None else limit_megohm * MEGOHM,
    )


def ordinary_regression() -> tuple[float, float]:
    """Return the slope [log10/year] and its 95 % half width of the falling visits by ordinary regression."""
    line = linregress([v.years for v in FALLING], [math.log10(v.resistance_ohm) for v in FALLING])
    return float(line.slope), float(t.ppf(0.975, len(FALLING) - 2) * line.stderr)


def likelihood_slope() -> float:
    """Return the slope [log10/year] that maximises the censored likelihood at our floor of scatter."""
    scatter = math.log10(1.3) / 2
    times = np.array([v.years for v in CENSORED])
    shown = np.array([math.log10(v.resistance_ohm) for v in CENSORED])
    over = np.array([v.over_range for v in CENSORED])

    def cost(line: np.ndarray) -> float:
        distance = (shown - line[0] - line[1] * times) / scatter
        return -float(np.where(over, norm.logsf(distance), norm.logpdf(distance)).sum())

    return float(
        minimize(cost, [9.0, -0.2], method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-12}).x[1]
    )


CHECKS = (
    Check(
        "insulation trend",
        "yearly factor of five visits",
        lambda: known(of(FALLING).yearly_factor),
        lambda: 10 ** ordinary_regression()[0],
        1e-9,
        "scipy.stats.linregress",
        "independent library",
    ),
    Check(
        "insulation trend",
        "upper bound of the yearly factor",
        lambda: known(of(FALLING).yearly_factor_high),
        lambda: 10 ** sum(ordinary_regression()),
        1e-6,
        "scipy.stats, t interval of the slope",
        "independent library",
    ),
    Check(
        "insulation trend",
        "yearly factor with two visits over range",
        lambda: known(of(CENSORED).yearly_factor),
        lambda: 10 ** likelihood_slope(),
        1e-4,
        "scipy.optimize, direct maximum likelihood",
        "independent library",
    ),
)


@each(CHECKS)
def test_it_agrees_with_the_world_outside(check: Check) -> None:
    assert_holds(check)


def test_a_fall_that_meets_the_limit_before_the_next_visit_alarms() -> None:
    assert of(FALLING, limit_megohm=50).verdict is TrendVerdict.FALLING_TO_LIMIT
    assert of(FALLING, limit_megohm=5).verdict is TrendVerdict.FALLING
    assert of(FALLING).verdict is TrendVerdict.FALLING


def test_scatter_is_not_called_a_trend() -> None:
    result = of(STEADY)

    assert result.verdict is TrendVerdict.STEADY
    assert known(result.yearly_factor_low) < 1 < known(result.yearly_factor_high)


def test_rising_is_said_with_doubt_about_the_conditions() -> None:
    result = of([Visit(-v.years, v.resistance_ohm) for v in reversed(FALLING)])

    assert result.verdict is TrendVerdict.RISING
    assert "conditions may differ" in result.sentence


def test_over_range_is_a_limit_and_not_a_value() -> None:
    as_values = of([Visit(v.years, v.resistance_ohm) for v in CENSORED])

    assert known(of(CENSORED).yearly_factor) < known(as_values.yearly_factor)


def test_limits_alone_give_no_trend() -> None:
    result = of([Visit(float(year), 550 * MEGOHM, over_range=True) for year in range(4)], limit_megohm=100)

    assert (result.verdict, result.yearly_factor) == (TrendVerdict.CANNOT_TELL, None)


@pytest.mark.parametrize(
    ("visits", "sentence"),
    [
        (FALLING[:2], "at least three visits"),
        ([Visit(0.01 * i, MEGOHM) for i in range(3)], "less than four weeks"),
        ([*FALLING, Visit(5, math.nan)], "resistance is missing"),
        ([*FALLING, Visit(math.inf, MEGOHM)], "time of a visit is missing"),
        ([*FALLING, Visit(1000, MEGOHM)], "within 100 years"),
    ],
)
def test_nonsense_is_refused(visits: list[Visit], sentence: str) -> None:
    with pytest.raises(Refusal, match=sentence):
        trend(visits, next_visit_years=6)


@given(st.lists(st.floats(-0.3, 0.3), min_size=4, max_size=8), st.floats(0.1, 10))
def test_the_unit_of_resistance_does_not_matter(errors: list[float], factor: float) -> None:
    visits = [Visit(float(year), 1e8 * 10**error) for year, error in enumerate(errors)]
    scaled = [Visit(v.years, v.resistance_ohm * factor) for v in visits]

    assert known(of(scaled).yearly_factor) == pytest.approx(known(of(visits).yearly_factor), rel=1e-6)


@given(
    st.lists(
        st.tuples(
            st.one_of(ANY_FLOAT, st.floats(-10, 10)), st.one_of(ANY_FLOAT, st.floats(1, 1e15)), st.booleans()
        ),
        max_size=8,
    ),
    st.one_of(ANY_FLOAT, st.floats(0, 20)),
    st.one_of(st.none(), ANY_FLOAT),
)
def test_any_visits_give_a_result_or_a_refusal(
    visits: list[tuple[float, float, bool]], next_visit: float, limit: float | None
) -> None:
    assert_sound(
        answer_or_refusal(
            lambda: trend([Visit(*visit) for visit in visits], next_visit_years=next_visit, limit_ohm=limit)
        )
    )
