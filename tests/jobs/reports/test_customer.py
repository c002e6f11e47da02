"""The sheet that the customer takes along: plain words, nothing left unsaid."""

from __future__ import annotations

from uuid import uuid4

import pytest

from jobs.choices import StepKind
from jobs.services.steps import step_correct
from shopcool.core.documents import Document, Fact, Section
from shopcool.core.documents.content import Tone
from tests.jobs.reports.visit_told import document_of, section


def sheet(document: Document) -> Section:
    return section(document, "For the customer")


def fact(document: Document, label: str) -> Fact:
    return next(one for group in sheet(document).groups for one in group.facts if one.label == label)


class TestCustomerSheet:
    def test_is_the_last_one_and_a_sheet_of_its_own(self, closed_bay):
        last = document_of(closed_bay).sections[-1]

        assert (last.title, last.own_sheet) == ("For the customer", True)

    def test_tells_what_came_out_and_what_is_in_now_beside_the_label(self, closed_bay):
        document = document_of(closed_bay)

        assert fact(document, "Refrigerant taken out").value == "480 g of R-1234yf"
        filled = fact(document, "Refrigerant in it now")
        assert (filled.value, filled.note) == ("550 g of R-1234yf", "the label asks for 550 g")

    def test_names_the_smallest_leak_that_the_search_could_show(self, closed_bay):
        search = fact(document_of(closed_bay), "Search for leaks")

        assert (search.value, search.note) == ("none found", "smallest that shows: 4 g/year")

    def test_gives_an_insulation_without_a_limit_no_praise(self, closed_bay):
        insulation = fact(document_of(closed_bay), "Insulation of the compressor")

        assert insulation.value == "> 550 MΩ"
        assert insulation.note == "no limit of the vehicle maker was at hand to compare it with"

    @pytest.mark.parametrize(
        ("changes", "said"),
        [
            ({"limit": "10 MΩ", "limit_source": "manual"}, "above the vehicle maker's limit"),
            ({"limit": "600 MΩ", "limit_source": "manual"}, "the test could not be compared"),
            ({"resistance": "0.8 MΩ", "actual_voltage": "210"}, "not in order"),
        ],
    )
    def test_tells_apart_what_an_insulation_test_came_to(self, closed_bay, changes, said):
        tests = [one for one in closed_bay.situation.standing if one.kind == StepKind.INSULATION]
        step_correct(
            actor=closed_bay.workshop.owner,
            record=tests[-1],
            raw=closed_bay.raw(StepKind.INSULATION, **changes),
            reason="typed from another car",
            idempotency_key=uuid4(),
            now=closed_bay.workshop.later(),
        )

        assert said in fact(document_of(closed_bay), "Insulation of the compressor").note

    def test_explains_why_the_next_service_is_when_it_is(self, closed_bay):
        document = document_of(closed_bay)

        close_out = closed_bay.situation.context.latest(StepKind.CLOSE_OUT)
        assert close_out is not None
        assert fact(document, "Next service").known
        assert "no loss over time could be measured on this visit" in fact(document, "Why then").value

    def test_warns_the_owner_of_an_electric_car(self, closed_bay):
        cautions = [
            one.sentence for one in sheet(document_of(closed_bay)).remarks if one.tone is Tone.WARNING
        ]

        assert any("runs on high voltage" in sentence for sentence in cautions)
        assert any("Never top up from a can" in sentence for sentence in cautions)
