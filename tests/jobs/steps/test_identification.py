"""Identification: purity, hydrocarbon and air are three results, and not analysable is none of them."""

from __future__ import annotations

import pytest

from jobs.choices import StepKind
from jobs.errors import ValuesInvalid
from jobs.procedure import Outcome
from jobs.steps.answers import Tone
from tests.jobs.steps.asking import ask


def analysis(purity, hydrocarbon="0", **more):
    return {
        "result": "ANALYSED", "purity": purity, "hydrocarbon": hydrocarbon,
        "identifier": "ID-1", "filter": "CLEAN", **more,
    }  # fmt: skip


class TestAnalysis:
    # At least 98.0 % passes, hydrocarbon of 2.0 % alarms on its own, air does not count into the purity:
    # a vehicle maker's identification procedure of 2004 (secondary source), as SAE J2927 and J2099.
    @pytest.mark.parametrize(
        ("purity", "hydrocarbon", "outcome"),
        [
            ("98.0", "0", Outcome.PASSED),
            ("97.9", "0", Outcome.FAILED),
            ("98.0", "2.0", Outcome.FAILED),
            ("98.0", "1.9", Outcome.PASSED),
            ("100", "0", Outcome.PASSED),
        ],
    )
    def test_passes_from_98_per_cent_and_below_2_per_cent_hydrocarbon(self, purity, hydrocarbon, outcome):
        assert ask(StepKind.IDENTIFICATION, analysis(purity, hydrocarbon)).outcome is outcome

    def test_with_air_passes_and_alerts(self):
        answer = ask(StepKind.IDENTIFICATION, analysis("99.5", air="6"))

        assert answer.outcome is Outcome.PASSED
        assert {"purity_passed", "hydrocarbon_passed", "air_found"} <= answer.codes
        assert [finding.code for finding in answer.of_tone(Tone.WARNING)] == ["air_found"]

    def test_that_fails_has_not_measured_air_even_if_it_shows_a_figure(self):
        answer = ask(StepKind.IDENTIFICATION, analysis("90", air="0"))

        air = answer.output("air")
        assert air is not None
        assert (air.si, air.text) == (None, "not measured")

    def test_of_a_flammable_blend_allows_only_a_marked_cylinder(self):
        # A field survey's vehicle: 25.5 % of the expected gas, 2.4 % of another, 72.1 % hydrocarbon.
        answer = ask(StepKind.IDENTIFICATION, analysis("25.5", "72.1", other="2.4", other_named="R-134a"))

        assert answer.outcome is Outcome.FAILED
        assert {"purity_failed", "hydrocarbon_found", "marked_cylinder_only"} <= answer.codes

    @pytest.mark.parametrize(
        ("purity", "hydrocarbon", "other"), [("98", "3", ""), ("25.5", "72.1", "12.4"), ("90", "1", "2")]
    )
    def test_whose_shares_do_not_add_up_is_refused(self, purity, hydrocarbon, other):
        with pytest.raises(ValuesInvalid, match="add up to"):
            ask(StepKind.IDENTIFICATION, analysis(purity, hydrocarbon, other=other))

    def test_says_which_refrigerant_was_expected(self):
        expected = ask(StepKind.IDENTIFICATION, analysis("99")).output("expected")

        assert expected is not None
        assert expected.text == "R-1234yf"


class TestWithoutAnalysis:
    def test_not_analysable_is_neither_pass_nor_fail_and_needs_a_reason(self):
        raw = {
            "result": "NOT_ANALYSABLE",
            "reason": "PRESSURE_TOO_LOW",
            "identifier": "ID-1",
            "filter": "CLEAN",
        }

        assert ask(StepKind.IDENTIFICATION, raw).outcome is Outcome.NOT_ANALYSABLE
        with pytest.raises(ValuesInvalid, match="needed"):
            ask(StepKind.IDENTIFICATION, raw | {"reason": ""})
        with pytest.raises(ValuesInvalid, match="needed"):
            ask(StepKind.IDENTIFICATION, raw | {"reason": "OTHER"})

    def test_empty_is_believed_only_without_pressure(self):
        assert ask(StepKind.IDENTIFICATION, {"result": "EMPTY", "pressure": "0 psi"}).outcome is Outcome.EMPTY
        with pytest.raises(ValuesInvalid, match="There is pressure in the circuit"):
            ask(StepKind.IDENTIFICATION, {"result": "EMPTY", "pressure": "5 psi"})
