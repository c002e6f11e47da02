"""What a technician types is kept as typed, beside what it means."""

from __future__ import annotations

import pytest

from jobs.choices import StepKind
from jobs.errors import ValuesInvalid
from jobs.steps.display import display
from jobs.steps.registry import step_of
from shopcool.engineering.quantities import STANDARD_ATMOSPHERE_PA
from shopcool.shop.units import Units
from tests.jobs.steps.asking import context, values

PAIR = {"state": "RUNNING", "low": "20 inHg", "low_basis": "vacuum", "high": "120 psi", "ambient": "25"}
CHARGE = {"machine": "1", "mass": "0,55 kg", "hoses": "BY_MACHINE"}


def wrong(kind, raw, known=None):
    """Return the fields that are refused, with their first sentences."""
    with pytest.raises(ValuesInvalid) as refused:
        values(kind, raw, known)
    return {name: sentences[0] for name, sentences in refused.value.fields.items()}


class TestPressure:
    def test_keeps_a_vacuum_as_typed_with_kind_and_source(self):
        stored = values(StepKind.READINGS_BEFORE, PAIR).stored["low"]

        assert stored["typed"] == "20 inHg"
        assert (stored["unit"], stored["basis"], stored["source"]) == ("inHg", "vacuum", "GAUGE")

    def test_means_absolute_pressure(self):
        # 1 inHg = 3386.389 Pa and 1 psi = 6894.757 Pa: NIST SP 811:2008, appendix B.
        read = values(StepKind.READINGS_BEFORE, PAIR)

        assert read.si("low") == pytest.approx(STANDARD_ATMOSPHERE_PA - 20 * 3386.389)
        assert read.si("high") == pytest.approx(STANDARD_ATMOSPHERE_PA + 120 * 6894.757293168)

    def test_asks_whether_inches_of_mercury_are_a_vacuum(self):
        raw = PAIR | {"low_basis": ""}

        assert "inHg vac" in wrong(StepKind.READINGS_BEFORE, raw)["low"]

    def test_from_a_scan_tool_asks_for_its_kind(self):
        raw = PAIR | {"high": "5.7 bar", "high_source": "SCAN_TOOL"}

        assert "many show absolute" in wrong(StepKind.READINGS_BEFORE, raw)["high"]

    def test_of_a_scan_tool_and_of_a_gauge_agree(self):
        scan_tool = PAIR | {"high": "5.7 bar", "high_source": "SCAN_TOOL", "high_basis": "absolute"}
        gauge = PAIR | {"high": "4.7 bar"}

        difference = values(StepKind.READINGS_BEFORE, scan_tool).needed("high") - values(
            StepKind.READINGS_BEFORE, gauge
        ).needed("high")

        assert abs(difference) < 2000

    def test_better_than_a_perfect_vacuum_names_the_air_of_the_workshop(self):
        # Standard air at 5 000 ft is 84.3 kPa, 24.9 inHg: ISO 2533:1975.
        high_up = context(atmosphere_pa=84_307.0)
        raw = {
            "machine": "1", "pumped": "25", "valve_closed_first": "yes", "gauge": "NEEDLE",
            "start": "29.9 inHg vac", "held": "10", "end": "29 inHg vac",
        }  # fmt: skip

        sentence = wrong(StepKind.EVACUATION, raw, high_up)["start"]

        assert "below a perfect vacuum" in sentence
        assert "24.9 inHg" in sentence


class TestNumbers:
    @pytest.mark.parametrize("typed", ["0,55 kg", "0.55 kg ", "550 g", "550", ",55 kg", "٠٫٥٥ kg"])
    def test_of_one_mass_are_read_the_same_however_written(self, typed):
        assert values(StepKind.CHARGE, CHARGE | {"mass": typed}).si("mass") == pytest.approx(0.55)

    def test_that_can_be_two_masses_are_asked_about(self):
        assert "mass" in wrong(StepKind.CHARGE, CHARGE | {"mass": "1,234"})

    @pytest.mark.parametrize("typed", ["NaN", "sNaN", "-Infinity", "1e400", "", "   ", None, True, []])
    def test_that_are_none_are_refused_beside_their_field(self, typed):
        assert set(wrong(StepKind.CHARGE, CHARGE | {"mass": typed})) == {"mass"}

    def test_beyond_what_a_vehicle_holds_are_refused_with_a_sentence(self):
        sentence = wrong(StepKind.CHARGE, CHARGE | {"mass": "55 kg"})["mass"]

        assert sentence == "No vehicle holds more than 30 kg of refrigerant: check number and unit."

    def test_use_the_unit_chosen_beside_them(self):
        raw = CHARGE | {"mass": "20", "mass_unit": "oz"}

        # 1 oz = 28.349523125 g: NIST SP 811:2008, appendix B.
        assert values(StepKind.CHARGE, raw).si("mass") == pytest.approx(20 * 0.028349523125)

    def test_are_never_zero_when_nothing_was_typed(self):
        raw = {"into": "MACHINE", "machine": "1", "mass": "480", "ambient": "21", "pressure_returned": "no"}

        assert values(StepKind.RECOVERY, raw).si("oil_end") is None


class TestOtherAnswers:
    def test_name_every_wrong_field_at_once(self):
        found = wrong(StepKind.CHARGE, {"machine": "77", "mass": "many", "hoses": "SOMEHOW"})

        assert set(found) == {"machine", "mass", "hoses"}

    def test_that_nobody_asked_for_are_dropped(self):
        read = values(StepKind.CHARGE, CHARGE | {"hose_content": "40"})

        assert not read.has("hose_content")

    def test_that_hang_on_a_hidden_answer_are_not_asked_for(self):
        raw = {
            "result": "ANALYSED", "purity": "99,8", "hydrocarbon": "0",
            "identifier": "ID-1", "filter": "CLEAN", "reason": "OTHER",
        }  # fmt: skip

        assert not values(StepKind.IDENTIFICATION, raw).has("reason_text")

    def test_about_pieces_only_take_what_the_job_has_cleared(self):
        raw = {"added": "yes", "way": "INJECTOR", "injector": "4", "grade": "SP-A2", "amount": "15"}

        assert "no clearance of this job" in wrong(StepKind.OIL, raw)["injector"]

    @pytest.mark.parametrize(("answer", "kept"), [("yes", True), (True, True), ("no", False), (False, False)])
    def test_of_yes_and_no_come_as_words_or_as_json(self, answer, kept):
        raw = {
            "added": answer,
            "why_none": "none lost",
            "way": "WITH_PART",
            "oil": "POE",
            "grade": "A",
            "amount": "9",
        }

        assert values(StepKind.OIL, raw).stored["added"] is kept

    def test_too_long_are_refused(self):
        raw = {"parts": "x" * 1001, "compressor": "no", "condenser": "no"}

        assert wrong(StepKind.PARTS, raw)["parts"] == "At most 1000 characters."

    def test_that_are_no_date_are_refused(self):
        raw = {"next_service_on": "31.3.27", "customer_told": "yes"}

        assert "2026-03-31" in wrong(StepKind.CLOSE_OUT, raw)["next_service_on"]


class TestDisplay:
    def test_shows_what_was_typed_and_what_it_means(self):
        read = values(StepKind.READINGS_BEFORE, PAIR)
        low = step_of(StepKind.READINGS_BEFORE).field("low")

        assert display(low, read, Units()) == "20 inHg vacuum, on a gauge = 0.68 bar vacuum = 0.34 bar(a)"

    def test_shows_nothing_where_nothing_was_recorded(self):
        read = values(StepKind.READINGS_BEFORE, PAIR)

        assert display(step_of(StepKind.READINGS_BEFORE).field("vent"), read, Units()) == ""

    def test_shows_choices_in_words(self):
        read = values(StepKind.READINGS_BEFORE, PAIR)

        assert display(step_of(StepKind.READINGS_BEFORE).field("state"), read, Units()) == "running"
