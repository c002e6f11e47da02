"""The pages of the readings: the answer while typing, the diagram of before and after, the ranked causes."""

from __future__ import annotations

from typing import Any
from uuid import uuid4

import pytest
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from jobs.choices import StepKind
from jobs.models import StepRecord
from jobs.pages.ways import step_url
from shopcool.core import clock
from shopcool.people.models import User
from shopcool.vehicles.choices import Metering
from tests.jobs.bay import Bay

RUNNING = {
    "state": "RUNNING", "low": "29 psi", "high": "200 psi", "ambient": "30 °C", "suction": "12 °C",
    "liquid": "45 °C", "vent": "9 °C", "mode": "cabin_cooling", "steady": "10",
}  # fmt: skip


@pytest.fixture
def tablet(bay: Bay, monkeypatch: pytest.MonkeyPatch) -> Client:
    """A technician's tablet at an electric car with R-1234yf and an expansion valve."""
    bay.job.circuit.metering = Metering.EXPANSION_VALVE
    bay.job.circuit.save()
    bay.up_to_connection()
    monkeypatch.setattr(clock, "now", lambda: bay.workshop.later(0.1))
    client = Client()
    client.force_login(User.objects.get(username="tilda"))
    return client


def typed(tablet: Client, bay: Bay, kind: StepKind, **changes: Any) -> str:
    """Return the fragment that answers what is being typed."""
    raw = RUNNING | changes | {"check": "yes", "submission_key": str(uuid4())}
    response = tablet.post(step_url(bay.job.number, kind), raw, headers={"HX-Request": "true"})
    assert response.status_code == 200
    return response.content.decode()


def page(tablet: Client, bay: Bay, kind: StepKind | None = None) -> str:
    number = bay.job.number
    address = step_url(number, kind) if kind else reverse("jobs:job", args=[number])
    response: HttpResponse = tablet.get(address)
    assert response.status_code == 200
    return response.content.decode()


class TestForm:
    def test_gives_three_answers_the_whole_width_and_two_a_half(self, tablet, bay):
        html = page(tablet, bay, StepKind.READINGS_BEFORE)

        assert "step__field--wide" in opening_of(html, "mode")
        assert "step__field--wide" not in opening_of(html, "doors_open")


def opening_of(html: str, name: str) -> str:
    """Return the opening of the part of the form that holds a field."""
    before = html[: html.index(f'name="{name}"')]
    return before[before.rindex('<div class="step__field') :]


class TestWhileTyping:
    def test_answers_with_saturation_superheat_and_subcooling(self, tablet, bay):
        html = typed(tablet, bay, StepKind.READINGS_BEFORE)

        assert "Low side boils at" in html
        assert "Superheat" in html
        assert "± " in html

    def test_draws_the_cycle_beside_the_answer(self, tablet, bay):
        html = typed(tablet, bay, StepKind.READINGS_BEFORE)

        assert html.count("diagram__cycle--now") == 2
        assert "</svg>Now</span>" in html

    def test_without_line_temperatures_draws_nothing(self, tablet, bay):
        assert "<figure" not in typed(tablet, bay, StepKind.READINGS_BEFORE, liquid="")

    def test_ranks_causes_and_names_the_next_measurement(self, tablet, bay):
        html = typed(tablet, bay, StepKind.READINGS_BEFORE, low="12 psi", high="130 psi", suction="20 °C")

        assert "Measure next:" in html
        assert "Against:" in html
        assert "Pressures never decide about adding refrigerant: recover and weigh." in html

    def test_says_why_nothing_is_graded(self, tablet, bay):
        html = typed(tablet, bay, StepKind.READINGS_BEFORE, ambient="10 °C")

        assert "Not graded:" in html
        assert "Below 15 °C" in html
        assert "Measure next:" not in html

    def test_above_the_critical_pressure_only_says_stop(self, tablet, bay):
        html = typed(tablet, bay, StepKind.READINGS_BEFORE, high="600 psi")

        assert "Stop the compressor." in html
        assert "Probable causes" not in html

    def test_records_nothing(self, tablet, bay):
        typed(tablet, bay, StepKind.READINGS_BEFORE)

        assert not StepRecord.objects.filter(job=bay.job, kind=StepKind.READINGS_BEFORE).exists()

    def test_answers_on_the_whole_page_without_script(self, tablet, bay):
        raw = RUNNING | {"check": "yes", "submission_key": str(uuid4())}

        response = tablet.post(step_url(bay.job.number, StepKind.READINGS_BEFORE), raw)

        assert b"<html" in response.content
        assert b"diagram__cycle--now" in response.content


class TestBeforeAndAfter:
    def test_stand_on_one_chart_of_the_job(self, tablet, bay):
        bay.record(StepKind.READINGS_BEFORE, **RUNNING)
        for kind in (StepKind.HIGH_VOLTAGE, StepKind.INSULATION, StepKind.RECOVERY, StepKind.EVACUATION):
            bay.record(kind)
        bay.record(StepKind.OIL)
        bay.record(StepKind.CHARGE)

        now = typed(tablet, bay, StepKind.READINGS_AFTER, low="33 psi")
        bay.record(StepKind.READINGS_AFTER, **RUNNING | {"low": "33 psi"})
        after = page(tablet, bay)

        assert now.index("</svg>Before</span>") < now.index("</svg>Now</span>")
        assert after.index("</svg>Before</span>") < after.index("</svg>After</span>")

    def test_the_step_shows_what_is_on_record_before_anything_is_typed(self, tablet, bay):
        bay.record(StepKind.READINGS_BEFORE, **RUNNING)

        html = page(tablet, bay, StepKind.READINGS_BEFORE)

        assert "</svg>Before</span>" in html
        assert "Probable causes" in html

    def test_a_job_with_readings_at_rest_shows_no_diagram(self, tablet, bay):
        bay.record(StepKind.READINGS_BEFORE)

        assert "<figure" not in page(tablet, bay)
