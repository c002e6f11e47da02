"""The page of a job: what is next, what blocks it, what has been done; and a whole job through the pages."""

from __future__ import annotations

from urllib.parse import parse_qs, urlsplit

from django.urls import reverse
from django.utils.html import escape

from equipment.choices import PieceKind, Verdict
from equipment.models import Clearance
from jobs.choices import JobStatus, ServiceKind, StepKind
from jobs.pages.ways import step_url
from shopcool.vehicles.choices import Drive, Lubricant, Refrigerant
from tests.jobs.bay import BEFORE_CONNECTION, WHILE_CONNECTED
from tests.jobs.browser import links, words


def clearance_of(job):
    return reverse("jobs:clearance", args=[job.number])


class TestWhatBlocks:
    def test_has_its_own_way_out_and_not_the_closing_purge(self, bay, technician_tablet):
        # Common practice: absence of voltage is proved again after the vehicle was switched on.
        bay.up_to_connection().record(StepKind.READINGS_BEFORE, state="RUNNING", high="13 bar")

        page = technician_tablet.job(bay.job)

        assert "The vehicle was switched on for readings" in words(page)
        assert step_url(bay.job.number, StepKind.HIGH_VOLTAGE) in page.content.decode()
        assert "Purge " not in words(page)


class TestWholeJob:
    def test_goes_from_check_in_over_refusal_and_purge_to_closed(self, bay, technician_tablet):
        # Common practice: what touched PAG is purged before it touches a high-voltage circuit.
        job, tablet, workshop = bay.job, technician_tablet, bay.workshop
        glass = bay.sight_glass()
        belt = workshop.circuit(drive=Drive.BELT, lubricant=Lubricant.PAG)
        workshop.connect(belt, bay.hoses, job="J-0")
        workshop.disconnect("J-0")
        tablet.send(reverse("jobs:check_in", args=[job.number]), {})
        for kind in BEFORE_CONNECTION:
            assert tablet.record(job, kind, bay.raw(kind)).status_code == 302

        chosen = {"pieces": [bay.machine.pk, bay.hoses.pk, glass.pk]}
        refused = tablet.send(clearance_of(job), chosen)
        assert refused.status_code == 409
        assert "H-1 and S-1 must not go on this car." in words(refused)
        assert "H-1 holds residue of PAG, which conducts" in words(refused)
        assert "Nobody knows what S-1 last touched. Unknown is not clean." in words(refused)
        assert purge_offered(refused) == {
            "machine": [str(bay.machine.pk)],
            "pieces": [str(bay.hoses.pk), str(glass.pk)],
            "job": [job.number],
        }

        workshop.purge(bay.machine, bay.hoses, glass)
        assert tablet.send(clearance_of(job), chosen).status_code == 302
        for kind in WHILE_CONNECTED:
            assert tablet.record(job, kind, bay.raw(kind)).status_code == 302, kind
        tablet.send(reverse("jobs:disconnect", args=[job.number]), chosen)
        page = tablet.job(job)
        assert "Purge H-1, M-1, S-1" in words(page)
        assert step_url(job.number, StepKind.CLOSE_OUT) not in forms_of(page)

        workshop.purge(bay.machine, bay.hoses, glass)
        assert tablet.record(job, StepKind.CLOSE_OUT, bay.raw(StepKind.CLOSE_OUT)).status_code == 302

        job.refresh_from_db()
        assert job.status == JobStatus.CLOSED
        page = tablet.job(job)
        assert "This job is closed" in words(page)
        assert "1 refusal of the clearance" in words(page)
        verdicts = Clearance.objects.filter(job_number=job.number).order_by("sequence")
        assert [row.verdict for row in verdicts] == [Verdict.REFUSED, Verdict.PERMITTED]


def purge_offered(page):
    """What the page's way to the purge has filled in already."""
    purge = next(link for link in links(page) if link.startswith(reverse("equipment:purge")))
    return parse_qs(urlsplit(purge).query)


def forms_of(page):
    """The addresses that forms of a page send to."""
    return [line.split('"')[0] for line in page.content.decode().split('action="')[1:]]


class TestHead:
    def test_shows_label_data_and_says_what_is_not_known(self, bay, technician_tablet):
        circuit = bay.job.circuit
        circuit.lubricant, circuit.refrigerant = Lubricant.UNKNOWN, Refrigerant.UNKNOWN
        circuit.save()

        text = words(technician_tablet.job(bay.job))

        assert "Label charge 550 g ± 20 g" in text
        assert "Voltage 400 V" in text
        assert "Refrigerant not known" in text
        assert "Oil not known" in text

    def test_escapes_what_people_typed(self, bay, technician_tablet):
        vehicle = bay.job.circuit.vehicle
        vehicle.model = "<b>van</b>"
        vehicle.save()

        page = technician_tablet.job(bay.job).content.decode()

        assert escape("<b>van</b>") in page
        assert "<b>van</b>" not in page


class TestNext:
    def test_before_check_in_offers_to_check_in_and_no_step(self, bay, technician_tablet):
        page = technician_tablet.job(bay.job)

        assert reverse("jobs:check_in", args=[bay.job.number]) in forms_of(page)
        assert "Blocked" not in words(page)

    def test_holds_the_form_of_the_next_step_filled_with_the_complaint(self, bay, technician_tablet):
        bay.job.complaint = "warm air"
        bay.job.save()
        bay.checked_in()

        page = technician_tablet.job(bay.job)

        form = technician_tablet.form(page, step_url(bay.job.number, StepKind.LABEL))
        assert form["complaint"] == "warm air"

    def test_with_unknown_label_data_says_so_and_leads_to_the_label(self, bay, technician_tablet):
        bay.checked_in()
        for kind in BEFORE_CONNECTION:
            bay.record(kind)
        bay.job.circuit.lubricant = Lubricant.UNKNOWN
        bay.job.circuit.save()

        page = technician_tablet.job(bay.job)

        assert "This blocks the car The oil class of this circuit is not known." in words(page)
        assert reverse("vehicles:circuit_edit", args=[bay.job.circuit_id]) in links(page)

    def test_at_the_clearance_ticks_what_was_last_on_such_a_car_and_fits(self, bay, technician_tablet):
        workshop = bay.workshop
        other = workshop.piece("H-9")
        workshop.purge(bay.machine, other)
        workshop.connect(workshop.circuit(), bay.machine, bay.hoses, other, job="J-0")
        workshop.disconnect("J-0")
        belt = workshop.circuit(drive=Drive.BELT, lubricant=Lubricant.PAG)
        workshop.connect(belt, other, job="J-00")
        workshop.disconnect("J-00")
        bay.checked_in()
        for kind in BEFORE_CONNECTION:
            bay.record(kind)

        page = technician_tablet.job(bay.job)

        form = technician_tablet.form(page, clearance_of(bay.job))
        assert sorted(form["pieces"]) == sorted([str(bay.machine.pk), str(bay.hoses.pk)])
        assert "M-1 and H-1 may go on this car." in words(page)

    def test_shows_the_front_desk_where_the_car_stands_without_a_form(self, bay, desk_tablet):
        bay.checked_in()

        page = desk_tablet.job(bay.job)

        assert "A technician does this step." in words(page)
        assert step_url(bay.job.number, StepKind.LABEL) not in forms_of(page)


class TestRail:
    def test_names_every_step_with_its_state_in_words(self, bay, technician_tablet):
        bay.up_to_connection()

        text = words(technician_tablet.job(bay.job))

        rail = text[text.index("Procedure") : text.index("What has been done")]
        assert "Label and complaint Done" in rail
        assert "Readings before Now" in rail
        assert "Recovery Later" in rail

    def test_says_why_a_step_is_blocked_by_missing_data(self, bay, technician_tablet):
        bay.job.circuit.charge_kg = None
        bay.job.circuit.save()
        bay.up_to_connection()

        text = words(technician_tablet.job(bay.job))

        assert "Charge Blocked The label charge of this circuit is not known" in text

    def test_of_a_service_that_needs_less_says_what_is_not_needed(self, workshop, technician_tablet, bay):
        bay.job.service = ServiceKind.INSULATION
        bay.job.save()
        bay.checked_in()

        assert "Recovery Not needed" in words(technician_tablet.job(bay.job))


class TestWhatFollowsAJob:
    def test_an_override_stands_on_every_page_of_the_job(self, bay, desk_tablet, technician_tablet):
        workshop = bay.workshop
        hoses = workshop.piece("H-2")
        bay.checked_in()
        for kind in BEFORE_CONNECTION:
            bay.record(kind)
        bay.connect(bay.machine, hoses, actor=workshop.owner, reason="Towed in, last set left")

        for tablet in (desk_tablet, technician_tablet):
            for address in (
                reverse("jobs:job", args=[bay.job.number]),
                step_url(bay.job.number, StepKind.RECOVERY),
                clearance_of(bay.job),
            ):
                text = words(tablet.open(address))
                assert "Connected against a refusal, on the owner’s responsibility" in text
                assert "“Towed in, last set left” Orla" in text
                assert "Incident" in text


class TestRights:
    def test_outsider_finds_nothing(self, bay, outsider_tablet):
        outsider_tablet.open(reverse("jobs:job", args=[bay.job.number]), status=404)

    def test_unknown_number_is_not_found(self, bay, technician_tablet):
        technician_tablet.open(reverse("jobs:job", args=["J-none"]), status=404)

    def test_signed_out_is_sent_to_the_door(self, bay, client):
        response = client.get(reverse("jobs:job", args=[bay.job.number]))

        assert response.status_code == 302
        assert response.url.startswith(reverse("people:sign_in"))


class TestQueries:
    def test_of_the_page_do_not_grow_with_records_and_pieces(
        self, bay, technician_tablet, django_assert_max_num_queries
    ):
        bay.up_to(StepKind.RECOVERY)
        technician_tablet.job(bay.job)
        with django_assert_max_num_queries(40) as few:
            technician_tablet.job(bay.job)
        for number in range(6):
            glass = bay.workshop.piece(f"G-{number}", PieceKind.SIGHT_GLASS)
            bay.workshop.purge(bay.workshop.machine(f"M-{number + 10}"), glass)
            assert bay.connect(glass).connected
        bay.record(StepKind.IDENTIFICATION)

        with django_assert_max_num_queries(40) as many:
            technician_tablet.job(bay.job)

        assert len(many) == len(few)
