"""What the pages say while numbers are typed: the target of a charge, a hold that was pasted and drawn."""

from __future__ import annotations

from jobs.choices import ServiceKind, StepKind
from jobs.pages.ways import step_url
from shopcool.core import clock
from shopcool.people.models import User
from tests.jobs.bay import Bay
from tests.jobs.browser import Tablet, words

HTMX = {"HX-Request": "true"}
KIND = StepKind.INSULATION


class TestCharge:
    def test_says_how_much_to_weigh_in_before_anything_was_charged(self, bay, technician_tablet):
        bay.up_to(StepKind.OIL)
        typed = bay.raw(StepKind.CHARGE, mass="", hoses="TYPED", hose_content="20 g", check="yes")

        response = technician_tablet.send(step_url(bay.job.number, StepKind.CHARGE), typed, **HTMX)

        assert "Target: Weigh in 570 g: label 550 g, less 0 g in the circuit" in words(response)


class TestVacuum:
    def test_that_was_pasted_is_drawn_beside_its_sentence(self, bay, technician_tablet):
        bay.up_to(StepKind.RECOVERY)
        lines = "\n".join(f"{minute} {50 + 6 * minute}" for minute in range(11))
        typed = bay.raw(StepKind.EVACUATION, gauge="FOLLOWED", curve=f"min Pa\n{lines}", gauge_step="1 Pa")
        address = step_url(bay.job.number, StepKind.EVACUATION)

        response = technician_tablet.send(address, typed | {"check": "yes"}, **HTMX)

        assert "air comes in. Find the leak" in words(response)
        page = response.content.decode()
        assert page.count('class="plot__mark"') == 11
        assert 'class="plot__band"' in page
        assert "style=" not in page

    def test_with_a_line_that_can_not_be_read_names_it(self, bay, technician_tablet):
        bay.up_to(StepKind.RECOVERY)
        typed = bay.raw(
            StepKind.EVACUATION,
            gauge="FOLLOWED",
            curve="0:00 0.5\n0:30 half",
            gauge_step="1 Pa",
            check="yes",
        )

        response = technician_tablet.send(step_url(bay.job.number, StepKind.EVACUATION), typed, **HTMX)

        assert "Line 2, “0:30 half”" in words(response)


class TestInsulation:
    def test_brings_the_makers_limit_from_an_earlier_visit(self, workshop, monkeypatch):
        monkeypatch.setattr(clock, "now", workshop.later)
        first = Bay(workshop, service=ServiceKind.INSULATION).checked_in()
        first.record(StepKind.LABEL)
        first.record(StepKind.HIGH_VOLTAGE)
        first.record(StepKind.INSULATION, limit="10 MΩ", limit_source="workshop manual, page 4")
        first.close(next_service_on="2028-03-02")
        second = first.again()
        second.record(StepKind.LABEL)
        second.record(StepKind.HIGH_VOLTAGE)
        tablet, address = Tablet(User.objects.get(username="tilda")), step_url(second.job.number, KIND)

        form = tablet.form(tablet.open(address), address)

        assert (form["limit"], form["limit_unit"]) == ("10", "MΩ")
        assert form["limit_source"] == "workshop manual, page 4"
