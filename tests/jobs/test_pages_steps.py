"""The pages of the steps: what is typed is answered, recorded once, kept on error, corrected."""

from __future__ import annotations

from uuid import uuid4

import pytest
from django.urls import reverse

from jobs.choices import StepKind
from jobs.forms.readings import companions
from jobs.forms.steps import CorrectionForm, StepForm
from jobs.models import StepRecord
from jobs.pages.ways import step_url
from jobs.steps.registry import STEPS
from shopcool.people.models import Competence, CompetenceKind
from shopcool.vehicles.choices import Refrigerant
from tests.jobs.browser import part, words

HTMX = {"HX-Request": "true"}


@pytest.fixture
def readings(bay):
    """The address of the readings before, with the machine on the car."""
    bay.up_to_connection()
    return step_url(bay.job.number, StepKind.READINGS_BEFORE)


GOOD = {"state": "STATIC", "low": "4,9", "high": "4,9", "ambient": "20"}


class TestForm:
    def test_has_a_field_for_everything_the_step_asks(self, bay, technician_tablet, readings):
        form = technician_tablet.form(technician_tablet.open(readings), readings)

        asked = {"low", "low_unit", "low_basis", "low_source", "ambient", "form_note", "submission_key"}
        assert asked <= set(form)
        assert form["low_unit"] == "bar"

    def test_offers_the_unit_that_was_used_last(self, bay, technician_tablet, readings):
        technician_tablet.record(bay.job, StepKind.READINGS_BEFORE, GOOD | {"low": "71 psi", "high": "71"})

        form = technician_tablet.form(technician_tablet.open(readings), readings)

        assert form["low_unit"] == "psi"
        assert form["high_unit"] == "bar"

    def test_of_a_step_that_has_to_wait_shows_every_reason_with_its_way(self, bay, technician_tablet):
        bay.checked_in()
        page = technician_tablet.open(step_url(bay.job.number, StepKind.RECOVERY))

        assert "Not yet Label and complaint have not been recorded." in words(page)
        assert "No service machine is on the vehicle." in words(page)
        assert "Recovered refrigerant" not in words(page)

    def test_warns_where_the_step_is_and_defers_to_the_vehicle_maker(self, bay, technician_tablet):
        # A2L refrigerants are flammable (ISO 817), R-1234yf among them.
        bay.job.circuit.refrigerant = Refrigerant.R1234YF
        bay.job.circuit.save()
        bay.up_to_connection()
        text = words(technician_tablet.open(step_url(bay.job.number, StepKind.READINGS_BEFORE)))

        assert "Flammable gas (A2L) Flammable refrigerant." in text
        assert "Pressure Under pressure." in text
        assert "The vehicle maker’s data, local rules and licensed practice come first." in text


class TestNames:
    @pytest.mark.parametrize("kind", StepKind)
    def test_of_the_forms_own_fields_belong_to_no_step(self, kind):
        own = set(CorrectionForm.base_fields) | set(StepForm.base_fields) | {"check", "csrfmiddlewaretoken"}
        sent = {name for spec in STEPS[kind].fields for name in (spec.name, *companions(spec.name))}

        assert not own & sent


class TestAnswer:
    def test_comes_as_a_fragment_and_records_nothing(self, bay, technician_tablet, readings):
        response = technician_tablet.send(readings, GOOD | {"check": "yes"}, **HTMX)

        assert "<html" not in response.content.decode()
        assert "Low side, absolute 5.91 bar(a)" in words(response)
        assert not StepRecord.objects.filter(kind=StepKind.READINGS_BEFORE).exists()

    def test_without_script_is_the_same_fragment_inside_the_page(self, bay, technician_tablet, readings):
        typed = GOOD | {"check": "yes"}
        fragment = technician_tablet.send(readings, typed, **HTMX)
        page = technician_tablet.send(readings, typed)

        assert part(page, "answer").split() == part(fragment, "answer").split()
        assert technician_tablet.form(page, readings)["low"] == "4,9"

    def test_names_what_is_still_missing_calmly(self, bay, technician_tablet, readings):
        response = technician_tablet.send(readings, {"state": "STATIC", "low": "4,9", "check": "yes"}, **HTMX)

        assert "Still missing: High side, Air temperature" in words(response)

    def test_says_which_value_is_wrong_by_its_label(self, bay, technician_tablet, readings):
        response = technician_tablet.send(readings, GOOD | {"low": "abc", "check": "yes"}, **HTMX)

        assert "Low side" in words(response)
        assert "tone--refusal" in response.content.decode()

    def test_of_a_limit_shows_the_limit_and_its_source(self, bay, technician_tablet):
        # SAE J2099 by a secondary source: at least 98 % identified.
        bay.checked_in()
        bay.record(StepKind.LABEL)
        bay.record(StepKind.HIGH_VOLTAGE)
        address = step_url(bay.job.number, StepKind.IDENTIFICATION)
        typed = bay.raw(StepKind.IDENTIFICATION, purity="97,9", check="yes")

        text = words(technician_tablet.send(address, typed, **HTMX))

        assert "Stop" in text
        assert "98" in text
        assert "SAE J2099" in text


class TestRecording:
    def test_puts_what_was_typed_on_record_and_leads_back_to_the_car(self, bay, technician_tablet, readings):
        response = technician_tablet.record(bay.job, StepKind.READINGS_BEFORE, GOOD)

        assert response.status_code == 302
        assert response.url == reverse("jobs:job", args=[bay.job.number])
        record = StepRecord.objects.get(kind=StepKind.READINGS_BEFORE)
        assert record.values["low"]["typed"] == "4,9"
        # 4.9 bar gauge at 1013.25 mbar.
        assert record.values["low"]["si"] == pytest.approx(4.9e5 + 101_325.0)

    def test_leads_on_to_its_photos_when_asked_to(self, bay, technician_tablet, readings):
        offered = technician_tablet.open(readings).content.decode()
        answer = technician_tablet.record(bay.job, StepKind.READINGS_BEFORE, GOOD | {"attach": "yes"})

        record = StepRecord.objects.latest("pk")
        assert 'name="attach"' in offered
        assert answer["Location"] == reverse("attachments:of", args=["step", record.pk])
        assert 'name="taken"' in technician_tablet.open(answer["Location"]).content.decode()

    def test_sent_twice_is_recorded_once(self, bay, technician_tablet, readings):
        form = technician_tablet.form(technician_tablet.open(readings), readings) | GOOD

        first, second = (technician_tablet.send(readings, form) for _ in range(2))

        assert (first.status_code, second.status_code) == (302, 302)
        assert StepRecord.objects.filter(kind=StepKind.READINGS_BEFORE).count() == 1

    def test_with_the_key_of_another_form_asks_again_with_a_new_key(self, bay, technician_tablet, readings):
        form = technician_tablet.form(technician_tablet.open(readings), readings) | GOOD
        technician_tablet.send(readings, form)

        response = technician_tablet.send(readings, form | {"low": "5,1", "high": "5,1"})

        assert response.status_code == 409
        assert "This form was sent before with other values." in words(response)
        assert technician_tablet.form(response, readings)["submission_key"] != form["submission_key"]

    def test_after_a_colleague_was_faster_says_who_and_keeps_what_was_typed(
        self, bay, technician_tablet, owner_tablet, readings
    ):
        form = technician_tablet.form(technician_tablet.open(readings), readings) | GOOD | {"low": "4,8"}
        owner_tablet.record(bay.job, StepKind.READINGS_BEFORE, GOOD)

        response = technician_tablet.send(readings, form)

        assert response.status_code == 409
        assert "Orla recorded this step at" in words(response)
        again = technician_tablet.form(response, readings)
        assert again["low"] == "4,8"
        assert technician_tablet.send(readings, again).status_code == 302

    @pytest.mark.parametrize(
        ("name", "typed", "sentence"),
        [
            ("low", "NaN", "number"),
            ("low", "1e999", "number"),
            ("low", "4.9 kg", "kg"),
            ("low", "", "This is needed."),
            ("ambient", "20 psi", "psi"),
            ("low", "500 bar", "200 bar"),
            ("ambient", "4,5,6", "4,5,6"),
        ],
    )
    def test_of_something_unusable_keeps_it_and_says_why_beside_the_field(
        self, bay, technician_tablet, readings, name, typed, sentence
    ):
        response = technician_tablet.record(bay.job, StepKind.READINGS_BEFORE, GOOD | {name: typed})

        assert response.status_code == 422
        kept = technician_tablet.form(response, readings)
        assert kept[name] == typed
        assert kept["high"] == "4,9"
        errors = response.content.decode().split(f'id="id_{name}_error"')[1].split("</ul>")[0]
        assert sentence in errors
        assert not StepRecord.objects.filter(kind=StepKind.READINGS_BEFORE).exists()

    def test_of_400_characters_in_a_line_keeps_them_all(self, bay, technician_tablet):
        bay.checked_in()
        long = "x" * 400
        response = technician_tablet.record(
            bay.job, StepKind.LABEL, {"label": "READ", "fault_codes": long, "odometer": "12 000"}
        )

        assert response.status_code == 422
        assert "At most 200 characters." in words(response)
        kept = technician_tablet.form(response, step_url(bay.job.number, StepKind.LABEL))
        assert kept["fault_codes"] == long
        assert kept["label"] == "READ"

    def test_of_an_earlier_time_keeps_it_beside_the_time_of_recording(self, bay, technician_tablet, readings):
        earlier = bay.workshop.now
        bay.workshop.later(30)
        technician_tablet.record(
            bay.job, StepKind.READINGS_BEFORE, GOOD | {"form_time": f"{earlier:%Y-%m-%dT%H:%M}"}
        )

        record = StepRecord.objects.get(kind=StepKind.READINGS_BEFORE)
        assert record.occurred_at == earlier.replace(second=0, microsecond=0)
        assert record.recorded_at > earlier

    def test_that_the_step_does_not_allow_yet_says_so_and_keeps_the_form(self, bay, technician_tablet):
        bay.checked_in()
        address = step_url(bay.job.number, StepKind.RECOVERY)

        response = technician_tablet.send(address, bay.raw(StepKind.RECOVERY) | {"submission_key": uuid4()})

        assert response.status_code == 409
        assert "Label and complaint have not been recorded." in words(response)

    def test_without_the_competence_names_the_person(self, bay, technician_tablet):
        bay.up_to(StepKind.INSULATION)
        Competence.objects.filter(user=technician_tablet.user, kind=CompetenceKind.REFRIGERANT).delete()

        response = technician_tablet.record(bay.job, StepKind.RECOVERY, bay.raw(StepKind.RECOVERY))

        assert response.status_code == 403
        assert "Tilda has no refrigerant-handling competence in date." in words(response)


class TestCorrecting:
    @pytest.fixture
    def record(self, bay):
        bay.up_to_connection()
        return bay.record(StepKind.READINGS_BEFORE)

    def address(self, bay, record):
        return reverse("jobs:correct", args=[bay.job.number, record.pk])

    def test_begins_with_what_was_recorded(self, bay, technician_tablet, record):
        address = self.address(bay, record)

        form = technician_tablet.form(technician_tablet.open(address), address)

        assert (form["low"], form["low_unit"], form["low_basis"]) == ("71", "psi", "gauge")
        assert form["state"] == "STATIC"

    def test_needs_a_reason(self, bay, technician_tablet, record):
        address = self.address(bay, record)
        form = technician_tablet.form(technician_tablet.open(address), address)

        response = technician_tablet.send(address, form | {"low": "70", "form_reason": " "})

        assert response.status_code == 422
        assert technician_tablet.form(response, address)["low"] == "70"
        assert StepRecord.objects.filter(kind=StepKind.READINGS_BEFORE).count() == 1

    def test_keeps_both_records_with_the_reason_between_them(self, bay, technician_tablet, record):
        address = self.address(bay, record)
        form = technician_tablet.form(technician_tablet.open(address), address)

        typed = {"low": "70", "high": "70", "form_reason": "Misread the gauge"}
        technician_tablet.send(address, form | typed)

        text = words(technician_tablet.job(bay.job))
        assert "Corrected later; it no longer counts." in text
        assert "Correction: Misread the gauge" in text
        newest = StepRecord.objects.filter(kind=StepKind.READINGS_BEFORE).latest("sequence")
        assert (newest.corrects, newest.values["low"]["typed"]) == (record, "70")

    def test_of_a_corrected_record_is_not_offered_again(self, bay, technician_tablet, record):
        address = self.address(bay, record)
        form = technician_tablet.form(technician_tablet.open(address), address)
        technician_tablet.send(address, form | {"form_reason": "Misread"})

        technician_tablet.open(address, status=404)

    def test_is_not_for_the_front_desk(self, bay, desk_tablet, record):
        desk_tablet.open(self.address(bay, record), status=403)


class TestRights:
    @pytest.mark.parametrize(("who", "status"), [("desk_tablet", 403), ("outsider_tablet", 404)])
    def test_only_who_works_on_vehicles_records(self, bay, request, who, status):
        bay.checked_in()
        tablet = request.getfixturevalue(who)

        response = tablet.send(step_url(bay.job.number, StepKind.LABEL), {"label": "READ"})

        assert response.status_code == status
        assert not StepRecord.objects.exists()

    def test_unknown_kind_of_step_is_not_found(self, bay, technician_tablet):
        technician_tablet.open(f"/jobs/{bay.job.number}/steps/polish/", status=404)


class TestClosing:
    def test_too_early_says_what_is_missing_with_the_ways(self, bay, technician_tablet):
        bay.up_to(StepKind.CHARGE)
        page = technician_tablet.open(step_url(bay.job.number, StepKind.CLOSE_OUT))

        assert "This step is missing: Leak check." in words(page)
        assert "Pieces are still on the vehicle." in words(page)

    def test_offers_the_next_service_that_the_shop_usually_agrees(self, bay, technician_tablet):
        bay.up_to_purge()
        bay.workshop.purge(bay.machine, bay.hoses)
        address = step_url(bay.job.number, StepKind.CLOSE_OUT)

        form = technician_tablet.form(technician_tablet.open(address), address)

        # The shop's settings begin with 24 months; the bay's day is 2026-03-02.
        assert form["next_service_on"] == "2028-03-02"
        assert "form_note" not in form

    def test_needs_a_next_service_in_the_future(self, bay, technician_tablet):
        bay.up_to_purge()
        bay.workshop.purge(bay.machine, bay.hoses)

        response = technician_tablet.record(
            bay.job, StepKind.CLOSE_OUT, {"next_service_on": "2020-01-01", "customer_told": "yes"}
        )

        assert response.status_code == 422
        assert "The next service lies in the future." in words(response)
