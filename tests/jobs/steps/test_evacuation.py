"""The vacuum hold followed over time: leak, moisture, both, or not to be told; gauges and altitude."""

from __future__ import annotations

import math

import pytest

from jobs.choices import StepKind
from jobs.errors import ValuesInvalid
from jobs.procedure import Outcome
from jobs.steps.answers import Answer, Finding, Output, Tone
from jobs.steps.context import Earlier
from shopcool.engineering.quantities import atmosphere_from_altitude_pa
from shopcool.shop.units import Units
from tests.jobs.steps.asking import ask, context, earlier

HOLD = {
    "machine": "1", "pumped": "25", "valve_closed_first": "yes", "gauge": "FOLLOWED",
    "gauge_step": "1 Pa", "coldest": "20 °C",
}  # fmt: skip


def curve(rise_pa_min: float, levelling_pa: float = 0.0, *, tau_s: float = 120.0, minutes: int = 20) -> str:
    """Return readings every half minute of a hold that begins at 50 Pa and rises as told."""
    lines = ["s Pa"]
    for second in range(0, minutes * 60 + 1, 30):
        pressure = 50 + rise_pa_min * second / 60 + levelling_pa * -math.expm1(-second / tau_s)
        lines.append(f"{second} {round(pressure)}")
    return "\n".join(lines)


def hold(readings: str, **changes: str) -> Answer:
    return ask(StepKind.EVACUATION, HOLD | {"curve": readings} | changes)


class TestShape:
    def test_that_climbs_in_a_straight_line_is_a_leak_and_does_not_hold(self):
        answer = hold(curve(6))

        finding = _finding(answer, "hold_leak")
        assert (answer.outcome, answer.satisfied) == (Outcome.NOT_HELD, False)
        assert "air comes in. Find the leak" in finding.sentence
        # 6 Pa/min by construction.
        assert _output(answer, "steady_rise").si == pytest.approx(0.1, rel=0.02)

    def test_that_bends_and_levels_low_is_moisture_or_outgassing_and_dry_enough(self):
        answer = hold(curve(0, 60))

        finding = _finding(answer, "hold_outgassing")
        assert answer.outcome is Outcome.HELD
        assert "Evacuate longer and hold again" in finding.sentence
        assert "below 1000 micron, which counts as dry" in finding.sentence

    def test_that_levels_high_is_not_dry_yet(self):
        # Levels at 250 Pa, 1875 micron: wet by common practice.
        answer = hold(curve(0, 200))

        assert answer.outcome is Outcome.NOT_HELD
        assert _finding(answer, "hold_outgassing").limit == "≤ 1000 micron"

    def test_far_below_the_boiling_line_of_water_is_not_called_water(self):
        # Water boils at 2339 Pa at 20 °C (IAPWS-95); a plateau at 160 Pa, 1200 micron, is something else.
        answer = hold(curve(0, 110))

        assert "not liquid water" in _finding(answer, "below_water").sentence
        assert _output(answer, "water").si == pytest.approx(2339, abs=1)

    def test_with_both_says_both(self):
        assert (
            "a leak together with moisture"
            in _finding(hold(curve(6, 200)), "hold_leak_and_outgassing").sentence
        )

    def test_that_stays_flat_gives_a_bound_and_never_says_tight(self):
        answer = hold(curve(0))

        finding = _finding(answer, "hold_no_rise")
        assert (answer.outcome, finding.tone) == (Outcome.HELD, Tone.GOOD)
        assert "No leak larger than the bound shown; a smaller one is possible." in finding.sentence
        assert "tight" not in _words(answer)

    def test_read_in_coarse_steps_stays_a_gross_check(self):
        # Half an inch of mercury, the finest that a needle shows, is 1693 Pa.
        answer = hold(curve(0), gauge_step="0.5 inHg")

        assert "too coarse" in _finding(answer, "hold_gauge_too_coarse").sentence
        assert "no_gross_leak" in answer.codes

    def test_is_drawn_with_its_fit_and_band(self):
        answer = hold(curve(6))

        (plot,) = answer.plots
        assert len(plot.marks) == 41
        assert plot.marks[0].y == pytest.approx(0.5)
        assert plot.line[-1] == (pytest.approx(20), pytest.approx(1.7, rel=0.01))
        assert all(low <= high for _minute, low, high in plot.band)
        assert Answer.from_record(answer.as_record()) == answer


class TestBound:
    def test_in_grams_a_year_is_a_range_with_its_assumption(self):
        text = _output(hold(curve(0)), "largest_leak").text

        assert "g/year of R-1234yf" in text
        assert "volume assumed to be 3 litres" in text

    def test_grows_with_the_stated_volume(self):
        small, large = (
            _output(hold(curve(0), volume=litres), "largest_leak").si for litres in ("3 l", "6 l")
        )

        assert large == pytest.approx(2 * small)


class TestReadings:
    @pytest.mark.parametrize(
        "lines",
        [
            "0:00 0.5 mbar\n0:30 0.5 mbar",
            "0 s; 50 Pa\n30 s; 50 Pa",
            "0,0\t0,5\n0,5\t0,5",
            "0, 0.5\n0.5, 0.5",
            "min mbar\n0 0.5\n0.5 0.5",
            "0:00 375 micron\n0:30 375 micron",
        ],
    )
    def test_are_read_as_they_are_typed_or_pasted(self, lines):
        with pytest.raises(ValuesInvalid, match="at least 8 readings; there are 2"):
            hold(lines)

    @pytest.mark.parametrize(
        ("lines", "sentence"),
        [
            ("0:00 0.5\n0:30 half", "Line 2, “0:30 half”"),
            ("0:00 0.5\n\nno reading", "Line 3, “no reading”: a time and a pressure stand here"),
            ("0:00 0.5 furlong", "Line 1, “0:00 0.5 furlong”"),
        ],
    )
    def test_that_can_not_be_read_are_named_by_their_line(self, lines, sentence):
        with pytest.raises(ValuesInvalid, match=sentence):
            hold(lines)

    def test_need_the_step_of_the_gauge(self):
        with pytest.raises(ValuesInvalid) as caught:
            hold(curve(6), gauge_step="")
        assert caught.value.fields == {"gauge_step": ["This is needed."]}

    def test_that_fall_are_refused(self):
        with pytest.raises(ValuesInvalid, match="the pump is still connected"):
            hold(curve(-1))

    def test_are_two_on_a_gauge_that_was_not_followed(self):
        with pytest.raises(ValuesInvalid) as caught:
            ask(StepKind.EVACUATION, HOLD | {"gauge": "ELECTRONIC"})
        assert set(caught.value.fields) == {"start", "end", "held"}

    def test_stand_below_the_line_that_names_their_units(self):
        with pytest.raises(ValuesInvalid, match="the readings follow below it"):
            hold("s micron")


class TestSecondHold:
    def test_with_the_same_rise_confirms_the_leak(self):
        answer = _again(curve(6), curve(6))

        assert "there is a leak" in _finding(answer, "pair_leak_confirmed").sentence
        assert not answer.satisfied

    def test_that_shrank_shows_that_evacuation_dries_the_circuit(self):
        answer = _again(curve(0, 200), curve(0, 60))

        assert "evacuation removes it" in _finding(answer, "pair_drying").sentence
        assert answer.satisfied

    def test_that_was_much_shorter_is_not_compared(self):
        answer = _again(curve(0, 60, minutes=30), curve(0, 60, minutes=10))

        assert "less than half as long" in _finding(answer, "holds_not_compared").sentence


class TestNeedleGauge:
    needle = HOLD | {"gauge": "NEEDLE", "held": "10", "start": "24 inHg vac", "end": "23.5 inHg vac"}

    def test_at_altitude_holds_with_less_inches(self):
        # 5000 ft: 24.9 inHg, ICAO standard atmosphere; 29.9 inHg is impossible there.
        known = context(atmosphere_pa=atmosphere_from_altitude_pa(1524.0))

        answer = ask(StepKind.EVACUATION, self.needle, known)

        assert answer.outcome is Outcome.HELD
        assert "24.9 inHg" in _output(answer, "air").text
        assert "gross check only" in _finding(answer, "needle_gauge").sentence

    def test_that_shows_more_than_the_local_air_has_an_error_of_its_own(self):
        known = context(atmosphere_pa=atmosphere_from_altitude_pa(1524.0))

        with pytest.raises(ValuesInvalid, match="more vacuum than that has an error of its own"):
            ask(StepKind.EVACUATION, self.needle | {"start": "29.9 inHg vac"}, known)

    def test_never_reads_a_curve(self):
        assert ask(StepKind.EVACUATION, self.needle | {"curve": curve(6)}).plots == ()


def _again(first: str, second: str) -> Answer:
    """Return the answer to a second hold on the same job."""
    before: Earlier = earlier(StepKind.EVACUATION, HOLD | {"curve": first})
    return ask(StepKind.EVACUATION, HOLD | {"curve": second}, context(earlier=(before,)))


def _finding(answer: Answer, code: str) -> Finding:
    return next(finding for finding in answer.findings if finding.code == code)


def _output(answer: Answer, name: str) -> Output:
    output = answer.output(name)
    assert output is not None
    return output


def _words(answer: Answer) -> str:
    return " ".join(finding.sentence for finding in answer.findings)


class TestAir:
    #: Two readings of a needle gauge, as vacuum below the air around it.
    NEEDLE = HOLD | {"gauge": "NEEDLE", "held": "10", "start": "24 inHg vac", "end": "24 inHg vac"}

    def test_that_a_barometer_shows_counts_for_this_hold(self):
        # 24.90 inHg of air is that of 1500 m (US Standard Atmosphere 1976): 0.90 inHg is left.
        answer = ask(StepKind.EVACUATION, self.NEEDLE | {"barometer": "24.90 inHg"})

        assert _output(answer, "start").si == pytest.approx(0.90 * 3386.389, rel=1e-3)
        assert _output(answer, "air").text.startswith("843 mbar")
        assert _output(answer, "air").label == "Air by the barometer"

    def test_is_never_less_than_what_a_gauge_shows_as_vacuum(self):
        with pytest.raises(ValuesInvalid) as refusal:
            ask(StepKind.EVACUATION, self.NEEDLE | {"barometer": "800 mbar"})

        assert set(refusal.value.fields) == {"start", "end"}
        assert "air at this workshop stands at 23.6 inHg" in refusal.value.fields["start"][0]

    def test_of_a_followed_hold_counts_for_its_readings(self):
        lines = "min inHg vac\n" + "\n".join(f"{minute} {24.5 - minute / 50}" for minute in range(11))

        answer = ask(StepKind.EVACUATION, HOLD | {"curve": lines, "barometer": "24.9 inHg"})

        assert _output(answer, "start").si == pytest.approx(0.4 * 3386.389, rel=1e-2)

    @pytest.mark.parametrize(("typed", "words"), [("120 kPa", "between 500 and 1100 mbar"), ("x", "number")])
    def test_that_no_barometer_shows_is_refused(self, typed, words):
        with pytest.raises(ValuesInvalid) as refusal:
            ask(StepKind.EVACUATION, self.NEEDLE | {"barometer": typed})

        assert words in refusal.value.fields["barometer"][0]

    def test_finer_than_a_needle_can_show_is_refused_on_a_needle_gauge(self):
        fine = {"start": "700 micron", "end": "20 mbar"}

        with pytest.raises(ValuesInvalid) as refusal:
            ask(StepKind.EVACUATION, self.NEEDLE | fine)

        assert list(refusal.value.fields) == ["start"]
        assert "A needle gauge can't show this" in refusal.value.fields["start"][0]
        assert ask(StepKind.EVACUATION, self.NEEDLE | fine | {"gauge": "ELECTRONIC"}).output("start")


class TestABareNumber:
    """1 Torr = 101 325 Pa / 760, 1 inHg (0 °C) = 3386.389 Pa: NIST SP 811:2008, appendix B."""

    US = Units(pressure="psi")
    HELD = {
        "machine": "1", "pumped": "30", "valve_closed_first": "yes", "gauge": "ELECTRONIC", "held": "10",
        "start": "675", "end": "900", "barometer": "29.92",
    }  # fmt: skip

    def test_is_what_a_vacuum_gauge_and_a_barometer_show_where_the_reader_is_at_home(self):
        answer = ask(StepKind.EVACUATION, self.HELD, context(units=self.US))

        assert answer.output("start").si == pytest.approx(0.675 * 101_325 / 760)
        assert answer.output("air").si == pytest.approx(29.92 * 3386.389, rel=1e-6)

    def test_stays_in_millibar_for_who_reads_bar(self):
        metric = self.HELD | {"start": "0,9", "end": "1.2", "barometer": "1013"}

        assert ask(StepKind.EVACUATION, metric).output("start").si == pytest.approx(90.0)
