"""A vacuum that is held: dry, wet or leaking by its shape, and never proof against a small leak."""

from __future__ import annotations

import math

import pytest

from jobs.choices import StepKind
from jobs.procedure import Outcome
from jobs.steps.answers import Answer
from tests.jobs.cases.car import Car, finding, output, said

pytestmark = pytest.mark.django_db


def held(car: Car, *microns: float, **more: str) -> Answer:
    """Return what a hold says that was read every minute on an electronic gauge in steps of 10 micron."""
    lines = "\n".join(f"{minute} {round(micron, -1):g}" for minute, micron in enumerate(microns))
    followed = {"gauge": "FOLLOWED", "gauge_step": "10 micron", "curve": f"min micron\n{lines}"}
    return car.tried(StepKind.EVACUATION, **followed | more)


class TestMakersRule:
    """Down to 700 to 750 micron: steady is dry, a slow climb is moisture, a quick one a leak (maker, 2007).

    The maker gives no number for slow and quick; the rises are ours.
    """

    def test_steady_is_dry_and_still_no_proof_against_a_small_leak(self, recovered_car: Car) -> None:
        answer = held(recovered_car, *[740] * 11)

        assert answer.outcome is Outcome.HELD
        assert said(answer, "hold_no_rise").startswith("No rise beyond the error of the gauge.")
        assert "a smaller one is possible" in said(answer, "hold_no_rise")

    def test_a_climb_that_bends_is_moisture_or_outgassing(self, recovered_car: Car) -> None:
        # Levels at 1200 micron: far below the 17 500 micron of water at 20 °C, so it is not liquid water.
        answer = held(recovered_car, *[700 + 500 * -math.expm1(-minute / 4) for minute in range(21)])

        assert answer.outcome is Outcome.NOT_HELD
        assert "moisture or gas leaving oil" in said(answer, "hold_outgassing")
        assert finding(answer, "hold_outgassing").limit == "≤ 1000 micron"
        assert "not liquid water" in said(answer, "below_water")

    def test_a_straight_climb_is_a_leak_until_a_second_pull_slows_it(self, recovered_car: Car) -> None:
        answer = held(recovered_car, *[700 + 250 * minute for minute in range(11)])

        assert answer.outcome is Outcome.NOT_HELD
        assert "Find the leak, or evacuate and hold again" in said(answer, "hold_leak")


class TestGaugeInKilopascals:
    def test_of_a_deep_vacuum_is_kept_absolute(self, recovered_car: Car) -> None:
        # −94.4 kPa of one maker at sea level: 101.325 − 94.4 = 6.9 kPa absolute.
        read = {"gauge": "NEEDLE", "start": "-94.4 kPa", "end": "-94 kPa"}

        answer = recovered_car.tried(StepKind.EVACUATION, **read, start_basis="gauge", end_basis="gauge")

        assert output(answer, "start").si == pytest.approx(6_925, abs=5)
        assert "can't prove dryness" in said(answer, "needle_gauge")

    def test_deeper_than_the_air_is_the_gauge_s_own_error(self, recovered_car: Car) -> None:
        refused = recovered_car.refused(
            StepKind.EVACUATION, gauge="NEEDLE", start="30.5 inHg vac", end="29 inHg vac"
        )

        assert "29.9 inHg" in refused["start"][0]
        assert "an error of its own, or altitude or barometer are wrong" in refused["start"][0]


class TestSmallLeak:
    def test_of_100_grams_a_year_is_not_seen_in_ten_minutes(self, recovered_car: Car) -> None:
        # A maker's manual says that less than 100 g a year is generally not found by vacuum.
        answer = recovered_car.tried(StepKind.EVACUATION)

        assert said(answer, "no_gross_leak") == (
            "No gross leak. A vacuum hold can't see small leaks, so this is not “no leak”."
        )
        bound = output(held(recovered_car, *[740] * 11), "largest_leak").si
        assert bound is not None
        assert bound > 0.1
