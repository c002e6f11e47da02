"""A compressor is replaced only when charge and airflow are on record."""

from __future__ import annotations

from dataclasses import replace

import pytest

from jobs.choices import StepKind
from jobs.errors import ValuesInvalid
from jobs.procedure import Outcome
from jobs.steps.answers import Answer, Tone
from jobs.steps.context import StepContext
from shopcool.vehicles.choices import Metering
from tests.jobs.steps.asking import ask, context, earlier
from tests.jobs.visit import BELT, Visit

COMPRESSOR = {"parts": "compressor", "compressor": "yes", "airflow_checked": "yes", "condenser": "no"}
CONDENSER = {
    "parts": "condenser",
    "compressor": "no",
    "condenser": "yes",
    "condenser_type": "SAME",
    "desiccant": "INTEGRAL",
}


def weighed(mass: str, visit: Visit | None = None) -> StepContext:
    """Return a visit on which this mass was recovered; the label says 550 g."""
    raw = {"into": "MACHINE", "machine": "1", "mass": mass, "ambient": "21", "pressure_returned": "no"}
    return context(visit, earlier=(earlier(StepKind.RECOVERY, raw),))


def wrong(raw: dict[str, str], known: StepContext) -> dict[str, list[str]]:
    with pytest.raises(ValuesInvalid, match=r".") as refused:
        ask(StepKind.PARTS, raw, known)
    return dict(refused.value.fields)


def codes(answer: Answer) -> set[str]:
    return set(answer.codes)


class TestCompressor:
    def test_is_refused_before_the_charge_was_weighed(self):
        assert wrong(COMPRESSOR, context())["compressor"] == [
            "No compressor is replaced before the charge was recovered and weighed."
        ]

    def test_is_refused_without_a_label_charge(self):
        known = weighed("540 g", Visit(replace(BELT, charge_kg=None)))

        assert "label charge" in wrong(COMPRESSOR, known)["compressor"][0]

    def test_is_refused_before_the_airflow_was_checked(self):
        raw = COMPRESSOR | {"airflow_checked": "no"}

        assert "air through the condenser" in wrong(raw, weighed("540 g"))["airflow_checked"][0]

    def test_for_an_isolation_code_waits_for_a_measured_insulation(self):
        code = earlier(StepKind.LABEL, {"label": "READ", "fault_codes": "P0AA6-526"})
        known = weighed("540 g")
        known = replace(known, earlier=(*known.earlier, code))

        assert wrong(COMPRESSOR, known)["compressor"] == [
            "No compressor is replaced for an isolation code before its insulation was measured."
        ]

    def test_names_everything_that_must_come_first_at_once(self):
        raw = COMPRESSOR | {"airflow_checked": "no"}

        assert set(wrong(raw, context())) == {"compressor", "airflow_checked"}

    def test_goes_when_everything_is_on_record(self):
        answer = ask(StepKind.PARTS, COMPRESSOR, weighed("540 g"))

        assert answer.outcome is Outcome.DONE
        assert "charge_and_airflow" in codes(answer)
        assert answer.output("charge_share").text == "98 %"

    def test_with_a_short_charge_is_asked_to_wait_for_the_weighed_one(self):
        answer = ask(StepKind.PARTS, COMPRESSOR, weighed("300 g"))

        finding = next(f for f in answer.findings if f.code == "charge_first")
        assert finding.sentence == "The charge was 55 % of the label: charge by weight and read again first."
        assert finding.limit == "85 % – 110 %"

    def test_of_an_empty_circuit_counts_as_weighed(self):
        visit = Visit(BELT).up_to_connection().did(StepKind.READINGS_BEFORE, Outcome.NO_PRESSURE)

        assert "charge_first" in codes(ask(StepKind.PARTS, COMPRESSOR, context(visit)))

    def test_is_no_question_for_other_parts(self):
        assert ask(StepKind.PARTS, CONDENSER, context()).output("charge_share") is None


class TestCondenser:
    """The trade's case of a condenser with and one without a receiver of its own that bolt up to one car."""

    @pytest.mark.parametrize(
        ("missing", "kept"),
        [
            ("desiccant", CONDENSER),
            ("condenser_type", CONDENSER),
            ("label_confirmed", CONDENSER | {"condenser_type": "OTHER"}),
            ("label_confirmed_in", CONDENSER | {"condenser_type": "OTHER", "label_confirmed": "yes"}),
        ],
    )
    def test_asks_for_every_answer(self, missing: str, kept: dict[str, str]):
        raw = {name: value for name, value in kept.items() if name != missing}

        assert wrong(raw, context())[missing] == ["This is needed."]

    def test_with_its_desiccant_in_a_known_place_is_fine(self):
        answer = ask(StepKind.PARTS, CONDENSER, context(metering=Metering.EXPANSION_VALVE))

        assert not answer.of_tone(Tone.WARNING)

    def test_without_a_known_desiccant_is_warned_of_until_the_charge(self):
        raw = CONDENSER | {"desiccant": "NOT_KNOWN"}

        assert "Not known is not fine" in sentence(ask(StepKind.PARTS, raw), "desiccant_unknown")
        assert "desiccant_unknown" in charged_after(raw).codes

    @pytest.mark.parametrize(
        ("metering", "place", "is_warned"),
        [
            (Metering.ORIFICE_TUBE, "ACCUMULATOR", False),
            (Metering.ORIFICE_TUBE, "INTEGRAL", True),
            (Metering.EXPANSION_VALVE, "ACCUMULATOR", True),
            (Metering.ELECTRONIC_VALVE, "BOTTLE", False),
            (Metering.UNKNOWN, "ACCUMULATOR", False),
        ],
    )
    def test_is_compared_with_the_kind_of_circuit(self, metering: Metering, place: str, is_warned: bool):
        answer = ask(StepKind.PARTS, CONDENSER | {"desiccant": place}, context(metering=metering))

        assert ("desiccant_elsewhere" in answer.codes) is is_warned

    @pytest.mark.parametrize("kind", ["OTHER", "NOT_KNOWN"])
    def test_of_another_type_asks_for_charge_and_oil_again(self, kind: str):
        raw = CONDENSER | {"condenser_type": kind, "label_confirmed": "no"}

        answer = ask(StepKind.PARTS, raw, context(oil_m3=120e-6, lubricant_grade="SP-A2"))

        assert "On record: 550 g, 120 ml POE SP-A2." in sentence(answer, "label_not_confirmed")
        assert "label_not_confirmed" in charged_after(raw).codes

    def test_of_another_type_with_confirmed_data_names_their_source(self):
        raw = CONDENSER | {"condenser_type": "OTHER", "label_confirmed": "yes"}
        raw["label_confirmed_in"] = "workshop manual, page 12"

        answer = ask(StepKind.PARTS, raw)

        finding = next(one for one in answer.findings if one.code == "label_confirmed")
        assert (finding.tone, finding.source) == (Tone.GOOD, "workshop manual, page 12")
        assert not charged_after(raw).codes & {"desiccant_unknown", "label_not_confirmed"}


def charged_after(parts: dict[str, str]) -> Answer:
    """Return what the charge is told after these parts."""
    raw = {"machine": "1", "mass": "550 g", "hoses": "BY_MACHINE"}
    return ask(StepKind.CHARGE, raw, context(earlier=(earlier(StepKind.PARTS, parts),)))


def sentence(answer: Answer, code: str) -> str:
    return next(finding.sentence for finding in answer.findings if finding.code == code)
