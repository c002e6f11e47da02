"""The clearance panel: choose, read the decision, connect; the owner's override; disconnecting."""

from __future__ import annotations

import pytest
from django.urls import reverse

from equipment.choices import PieceKind, Verdict
from equipment.models import Clearance, Connection
from jobs.pages.ways import purge_url
from shopcool.vehicles.choices import Lubricant, Refrigerant
from tests.jobs.bay import BEFORE_CONNECTION
from tests.jobs.browser import links, part, words

HTMX = {"HX-Request": "true"}


@pytest.fixture
def ready(bay):
    """The job with everything done that comes before the connection."""
    bay.checked_in()
    for kind in BEFORE_CONNECTION:
        bay.record(kind)
    return bay


@pytest.fixture
def panel(bay):
    """The address of the panel."""
    return reverse("jobs:clearance", args=[bay.job.number])


def ids(*pieces):
    return {"pieces": [str(piece.pk) for piece in pieces]}


class TestPanel:
    def test_groups_the_pieces_by_what_they_need(self, ready, technician_tablet, panel):
        ready.sight_glass()
        ready.workshop.piece("H-7", refrigerant=Refrigerant.R134A)

        text = words(technician_tablet.open(panel))

        fits, after, never = (text.index(label) for label in ("Fit this car", "After a line", "Not for this"))
        assert fits < text.index("M-1 Piece M-1") < after < text.index("S-1 Piece S-1") < never
        assert never < text.index("H-7 Piece H-7")

    def test_of_nothing_asks_for_a_choice(self, ready, technician_tablet, panel):
        response = technician_tablet.send(panel, {"check": "yes"}, **HTMX)

        assert "Choose the pieces that will touch this circuit." in words(response)

    def test_decides_without_connecting_or_recording(self, ready, technician_tablet, panel):
        response = technician_tablet.send(panel, ids(ready.machine, ready.hoses) | {"check": "yes"}, **HTMX)

        assert "Permitted M-1 and H-1 may go on this car. Connect these 2" in words(response)
        assert not Clearance.objects.exists()
        assert not Connection.objects.exists()

    def test_fragment_is_the_one_of_the_whole_page(self, ready, technician_tablet, panel):
        typed = ids(ready.machine, ready.sight_glass()) | {"check": "yes"}
        fragment = technician_tablet.send(panel, typed, **HTMX)
        page = technician_tablet.send(panel, typed)

        assert part(page, "decision").split() == part(fragment, "decision").split()

    def test_refuses_calmly_with_reason_fix_and_source_and_no_connect_button(
        self, ready, technician_tablet, panel
    ):
        glass = ready.sight_glass()
        response = technician_tablet.send(panel, ids(ready.machine, glass) | {"check": "yes"}, **HTMX)

        text = words(response)
        assert "Refused S-1 must not go on this car. Purge S-1" in text
        assert "Run a line purge with S-1 in the loop. Source: common practice" in text
        assert "Connect" not in text.replace("Connected", "")
        assert purge_url(ready.job.number, [glass.pk], ready.machine.pk) in links(response)

    def test_leads_to_the_step_that_is_missing_for_the_whole_visit(self, bay, technician_tablet, panel):
        bay.checked_in()

        text = words(technician_tablet.open(panel))

        assert "The refrigerant in the vehicle has not been identified on this job." in text

    def test_says_who_has_a_busy_piece(self, ready, technician_tablet, panel):
        other = ready.workshop.circuit()
        ready.workshop.connect(other, ready.hoses, job="J-7")

        text = words(technician_tablet.open(panel))
        answer = technician_tablet.send(panel, ids(ready.hoses) | {"check": "yes"}, **HTMX)

        assert "Hose set · on job J-7" in text
        assert "H-1 is on job J-7." in words(answer)
        assert reverse("jobs:job", args=["J-7"]) in links(answer)

    def test_takes_the_choice_of_an_address(self, ready, technician_tablet, panel):
        page = technician_tablet.open(f"{panel}?pieces={ready.hoses.pk}&pieces=x&pieces=99999")

        assert technician_tablet.form(page, panel)["pieces"] == [str(ready.hoses.pk)]

    def test_queries_do_not_grow_with_the_pieces(
        self, ready, technician_tablet, panel, django_assert_max_num_queries
    ):
        technician_tablet.open(panel)
        with django_assert_max_num_queries(40) as few:
            technician_tablet.open(panel)
        for number in range(12):
            ready.workshop.piece(f"A-{number}", PieceKind.ADAPTER)

        with django_assert_max_num_queries(40) as many:
            technician_tablet.open(panel)

        assert len(many) == len(few)


class TestConnecting:
    def test_of_permitted_pieces_puts_them_on_the_car(self, ready, technician_tablet, panel):
        response = technician_tablet.send(panel, ids(ready.machine, ready.hoses))

        assert response.status_code == 302
        page = technician_tablet.job(ready.job)
        assert "Connected: H-1, M-1." in words(page)
        assert "On this car now H-1 Piece H-1" in words(page)

    def test_twice_connects_once(self, ready, technician_tablet, panel):
        for _attempt in range(2):
            assert technician_tablet.send(panel, ids(ready.machine, ready.hoses)).status_code == 302

        assert Connection.objects.filter(job_number=ready.job.number).count() == 2

    def test_of_a_piece_that_was_taken_meanwhile_says_who_has_it(self, ready, technician_tablet, panel):
        ready.workshop.connect(ready.workshop.circuit(), ready.hoses, job="J-7")

        response = technician_tablet.send(panel, ids(ready.machine, ready.hoses))

        assert response.status_code == 409
        assert "H-1 is on job J-7. A piece is on one vehicle at a time." in words(response)

    def test_of_an_injector_later_goes_by_the_same_panel(self, ready, technician_tablet, panel):
        # The injector's label must name exactly this refrigerant and this oil (common practice).
        workshop = ready.workshop
        gas = Refrigerant.R1234YF
        workshop.piece("J-1", PieceKind.INJECTOR, refrigerant=gas, lubricant=Lubricant.POE)
        wrong = workshop.piece("J-2", PieceKind.INJECTOR, refrigerant=gas, lubricant=Lubricant.PAG)
        technician_tablet.send(panel, ids(ready.machine, ready.hoses))

        page = technician_tablet.open(panel)
        answer = technician_tablet.send(panel, ids(wrong) | {"check": "yes"}, **HTMX)

        assert technician_tablet.form(page, panel).get("pieces") is None
        assert "J-2 is labelled for PAG oil, the circuit needs POE." in words(answer)
        assert "J-1 Piece J-1 Oil injector · POE" in words(page)


class TestOverride:
    @pytest.fixture
    def refused(self, ready):
        return ready.sight_glass()

    def address(self, bay, *pieces):
        chosen = "&".join(f"pieces={piece.pk}" for piece in pieces)
        return f"{reverse('jobs:override', args=[bay.job.number])}?{chosen}"

    def test_is_offered_to_an_owner_only(self, ready, refused, technician_tablet, owner_tablet, panel):
        typed = ids(refused) | {"check": "yes"}

        assert "connect against this refusal" in words(owner_tablet.send(panel, typed, **HTMX))
        assert "connect against this refusal" not in words(technician_tablet.send(panel, typed, **HTMX))

    def test_is_forbidden_to_others(self, ready, refused, technician_tablet, outsider_tablet):
        technician_tablet.open(self.address(ready, refused), status=403)
        outsider_tablet.open(self.address(ready, refused), status=404)

    def test_shows_what_it_sets_aside_and_asks_for_the_reason(self, ready, refused, owner_tablet):
        text = words(owner_tablet.open(self.address(ready, refused)))

        assert "Nobody knows what S-1 last touched." in text
        assert "ruins its insulation" in text
        assert "Why you connect all the same" in text

    def test_without_a_reason_connects_nothing(self, ready, refused, owner_tablet):
        response = owner_tablet.send(self.address(ready, refused), ids(refused) | {"reason": "   "})

        assert response.status_code == 422
        assert not Connection.objects.filter(job_number=ready.job.number).exists()

    def test_with_a_reason_connects_and_stands_on_the_job(self, ready, refused, owner_tablet):
        response = owner_tablet.send(
            self.address(ready, refused), ids(refused) | {"reason": "Opened and wiped dry"}
        )

        assert response.status_code == 302
        clearance = Clearance.objects.get(job_number=ready.job.number)
        assert (clearance.verdict, clearance.override_reason) == (Verdict.OVERRIDDEN, "Opened and wiped dry")
        assert "“Opened and wiped dry” Orla" in words(owner_tablet.job(ready.job))

    def test_of_permitted_pieces_has_nothing_to_set_aside(self, ready, owner_tablet):
        text = words(owner_tablet.open(self.address(ready, ready.machine, ready.hoses)))

        assert "There is nothing to set aside" in text


class TestDisconnecting:
    def test_takes_the_ticked_pieces_off_and_leaves_the_others(self, bay, technician_tablet):
        bay.up_to_connection()
        address = reverse("jobs:disconnect", args=[bay.job.number])

        technician_tablet.send(address, ids(bay.hoses))

        live = Connection.objects.filter(job_number=bay.job.number, disconnected_at=None)
        assert [row.piece for row in live] == [bay.machine]

    def test_of_nothing_leaves_everything_on_and_says_so(self, bay, technician_tablet):
        bay.up_to_connection()

        technician_tablet.send(reverse("jobs:disconnect", args=[bay.job.number]), {})

        assert Connection.objects.filter(job_number=bay.job.number, disconnected_at=None).count() == 2
        assert "No piece was ticked, so all of them stay on the car." in words(technician_tablet.job(bay.job))

    def test_makes_the_closing_purge_of_exactly_these_pieces_due(self, bay, technician_tablet):
        bay.up_to_purge()

        page = technician_tablet.job(bay.job)

        assert "Purge H-1, M-1" in words(page)
        assert purge_url(bay.job.number, [bay.hoses.pk], bay.machine.pk) in links(page)

    @pytest.mark.parametrize(("who", "status"), [("desk_tablet", 403), ("outsider_tablet", 404)])
    def test_is_not_for_others(self, bay, request, who, status):
        bay.up_to_connection()
        tablet = request.getfixturevalue(who)

        response = tablet.send(reverse("jobs:disconnect", args=[bay.job.number]), ids(bay.hoses))

        assert response.status_code == status
        assert Connection.objects.filter(job_number=bay.job.number, disconnected_at=None).count() == 2
