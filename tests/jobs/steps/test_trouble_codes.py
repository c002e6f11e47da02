"""Isolation codes: read however they are written, blaming no part that nobody measured."""

from __future__ import annotations

from datetime import UTC, datetime
from types import SimpleNamespace

import pytest

from jobs.choices import StepKind
from jobs.steps.answers import Answer
from jobs.steps.trouble_codes import KnownCode, TroubleCode, trouble_codes
from jobs.steps.values import Values
from shopcool.vehicles.choices import CodeArea
from tests.jobs.steps.asking import ask, context, values

POE_ADDED = {"added": "yes", "way": "WITH_PART", "oil": "POE", "grade": "POE 85", "amount": "20 ml"}


def label(codes: str, **more: str) -> Answer:
    return ask(StepKind.LABEL, {"label": "READ", "fault_codes": codes} | more, more_context)


def past(kind: StepKind, stored: Values, day: int = 12) -> SimpleNamespace:
    """Return a record of an earlier visit as far as these rules look at it."""
    moment = datetime(2026, 1, day, 10, tzinfo=UTC)
    return SimpleNamespace(kind=kind, at=moment, job_number="J-17", values=stored)


more_context = context()


class TestReading:
    @pytest.mark.parametrize(
        "typed", ["P0AA6-526", "P0AA6 526", "P0AA6/526", "p0aa6 – 526", "code P0AA6:526."]
    )
    def test_is_the_same_however_it_is_written(self, typed):
        assert trouble_codes(typed) == (TroubleCode("P0AA6", "526"),)

    def test_keeps_a_code_without_a_sub_code(self):
        assert trouble_codes("P0AA6") == (TroubleCode("P0AA6"),)

    def test_separates_several_codes_and_sub_codes(self):
        found = trouble_codes("P0AA6 526 611, C1259, P0A1D-1A")

        assert [str(code) for code in found] == ["P0AA6-526", "P0AA6-611", "C1259", "P0A1D-1A"]

    def test_takes_no_word_for_a_code(self):
        assert trouble_codes("P0AA6 bad dad, add dye; 526 miles") == (TroubleCode("P0AA6"),)


class TestIsolation:
    def test_alone_condemns_no_part(self):
        finding = next(f for f in label("P0AA6-526").findings if f.code == "isolation_not_located")

        assert finding.sentence.startswith("P0AA6-526 says that insulation fell, not where")
        assert "it condemns no compressor and no battery" in finding.sentence

    def test_in_the_circuit_by_the_maker_s_table_looks_at_compressor_and_oil_first(self):
        answer = label("P0AA6/611", isolation_place="CIRCUIT", isolation_source="model handbook, page 12")

        finding = next(f for f in answer.findings if f.code == "isolation_in_circuit")
        assert "compressor and oil first" in finding.sentence
        assert finding.source == "model handbook, page 12"

    def test_in_an_area_keeps_the_compressor_in_play(self):
        answer = label("P0AA6 614", isolation_place="AREA", isolation_source="model handbook")

        assert "isolation_in_area" in answer.codes

    def test_alone_points_nowhere_even_where_somebody_names_a_place(self):
        answer = label("P0AA6", isolation_place="CIRCUIT", isolation_source="model handbook")

        assert "isolation_not_located" in answer.codes
        assert "isolation_in_circuit" not in answer.codes

    def test_is_looked_up_in_the_table_of_the_model(self):
        table = [
            KnownCode("P0AA6", "", "Insulation fell", CodeArea.NO_PLACE, "page 11"),
            KnownCode("P0AA6", "611", "A/C circuit", CodeArea.CIRCUIT, "page 12"),
            KnownCode("P0AA6", "614", "Front area.", CodeArea.AREA, "page 13"),
            KnownCode("C1259", "", "Brake control", CodeArea.ELSEWHERE, "page 30"),
        ]
        raw = {"label": "READ", "fault_codes": "P0AA6 611 614 526; C1259"}

        findings = ask(StepKind.LABEL, raw, context(codes=table)).findings
        said = [(found.code, found.source) for found in findings if found.code.startswith(("iso", "code"))]

        assert said[:3] == [
            ("isolation_in_circuit", "page 12"),
            ("isolation_in_area", "page 13"),
            ("isolation_not_located", "common practice"),
        ]
        told = [found.sentence for found in findings if found.code == "code_on_file"]
        assert told == [
            "P0AA6-611 by the table of this model: A/C circuit.",
            "P0AA6-614 by the table of this model: Front area.",
            "C1259 by the table of this model: Brake control.",
        ]

    def test_another_code_says_nothing_about_insulation(self):
        assert not any(code.startswith("isolation") for code in label("P0A1D-1A").codes)

    def test_is_tied_to_the_oil_of_the_last_service(self):
        history = [
            past(StepKind.OIL, values(StepKind.OIL, POE_ADDED)),
            past(StepKind.CHARGE, Values({}), day=13),
        ]

        answer = ask(StepKind.LABEL, {"label": "READ", "fault_codes": "P0AA6"}, context(history=history))

        sentence = next(f.sentence for f in answer.findings if f.code == "isolation_last_oil")
        assert "job J-17" in sentence
        assert "20 ml POE 85 (POE)" in sentence

    def test_without_an_earlier_service_says_that_the_oil_is_not_known(self):
        assert "isolation_oil_unknown" in label("P0AA6").codes
