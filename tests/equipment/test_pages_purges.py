"""The pages of a line purge: the loop draws itself, readings in any unit, and what became of each piece."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection, connections
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from equipment.choices import PieceKind
from equipment.errors import SubmissionReused
from equipment.exposure import Residue
from equipment.incidents import Incident
from equipment.models import Exposure, Piece, Purge
from equipment.pages.readings import POSITIONS
from equipment.purging import PurgeReadings
from equipment.services.exposures import contact_declare
from equipment.services.submissions import purge_submit
from shopcool.core import clock
from shopcool.core.actors import Role
from shopcool.people.models import User
from shopcool.shop.selectors import shop_get
from shopcool.vehicles.choices import Drive, Lubricant, Refrigerant
from tests.equipment.page_text import between, words_of
from tests.equipment.workshop import GOOD_PURGE, Workshop, make_user
from tests.people_fixtures import SignedIn

NEW = "/equipment/purges/new/"
SEALER = Residue(additives=frozenset({"SEALER"}))


def filled(machine: Piece, /, *pieces: Piece, **changes: Any) -> dict[str, Any]:
    """Return the form of a purge that counts, as a technician fills it in."""
    return {
        "machine": machine.pk,
        "pieces": [piece.pk for piece in pieces],
        "positions": [code for code, _words in POSITIONS],
        "completed": "yes",
        "circulated": "0,5",
        "circulated_unit": "kg",
        "duration": "5:30",
        "duration_unit": "min",
        "final_vacuum": "12",
        "final_vacuum_unit": "mbar",
        "submission_key": str(uuid4()),
        **changes,
    }


@pytest.fixture
def browser(technician: User, signed_in: SignedIn) -> Client:
    """The tablet of a technician."""
    return signed_in(technician)


class TestLoop:
    def test_draws_itself_from_what_was_tapped(self, workshop_clock: Workshop, browser: Client) -> None:
        machine, hoses = workshop_clock.machine(), workshop_clock.piece("H-1")
        glass = workshop_clock.piece("G-1", PieceKind.SIGHT_GLASS)
        tapped = {"machine": machine.pk, "pieces": [glass.pk, hoses.pk]}

        words = words_of(browser.get(NEW, tapped, headers={"HX-Request": "true"}))

        drawn = between(words, "Low line, out of the machine", "High line, back into the machine")
        assert drawn.index("H-1") < drawn.index("G-1")
        assert "Line purge" not in words

    def test_leaves_out_what_can_not_stand_in_it_and_says_why(
        self, workshop_clock: Workshop, browser: Client
    ) -> None:
        machine = workshop_clock.machine()
        hoses = workshop_clock.piece("H-2", refrigerant=Refrigerant.R134A)
        workshop_clock.piece(
            "I-1", PieceKind.INJECTOR, refrigerant=Refrigerant.R1234YF, lubricant=Lubricant.POE
        )
        workshop_clock.piece("B-1", PieceKind.OIL_BOTTLE)

        response = browser.get(NEW, {"machine": machine.pk, "pieces": hoses.pk})

        words, page = words_of(response), response.content.decode()
        assert "For R-134a; M-1 works with R-1234yf." in words
        assert f'value="{hoses.pk}" disabled' in page
        assert "2 pieces can’t be purged" in words
        assert "I-1 Piece I-1 : An injector holds oil." in words
        assert "No piece in the loop yet." in words

    def test_begins_with_what_is_due_on_the_job(self, workshop_clock: Workshop, browser: Client) -> None:
        workshop = workshop_clock
        machine, hoses, other = workshop.machine(), workshop.piece("H-1"), workshop.piece("H-2")
        workshop.purge(machine, hoses)
        workshop.connect(workshop.circuit(), machine, hoses, job="2026-0031")
        workshop.disconnect("2026-0031")

        page = browser.get(NEW, {"job": "2026-0031"}).content.decode()

        assert f'value="{machine.pk}" checked' in page
        assert f'value="{hoses.pk}" checked' in page
        assert f'value="{other.pk}" checked' not in page
        assert '<input type="hidden" name="job" value="2026-0031"' in page

    def test_takes_the_only_machine_that_fits(self, workshop_clock: Workshop, browser: Client) -> None:
        machine = workshop_clock.machine()
        workshop_clock.machine("M-2", Refrigerant.R134A)
        hoses = workshop_clock.piece("H-1", refrigerant=Refrigerant.R1234YF)

        page = browser.get(NEW, {"pieces": hoses.pk}).content.decode()

        assert f'value="{machine.pk}" checked' in page

    @pytest.mark.parametrize("value", ["x", "-3", "9" * 30, "999999"])
    def test_of_nonsense_is_empty(self, workshop_clock: Workshop, browser: Client, value: str) -> None:
        workshop_clock.machine(), workshop_clock.machine("M-2")

        response = browser.get(NEW, {"machine": value, "pieces": value})

        assert response.status_code == 200
        assert "Tap a machine" in words_of(response)

    def test_asks_the_same_number_of_questions_however_many_pieces_there_are(
        self, workshop_clock: Workshop, browser: Client
    ) -> None:
        workshop_clock.machine()
        browser.get(NEW)
        with CaptureQueriesContext(connection) as few:
            browser.get(NEW)
        for number in range(15):
            workshop_clock.piece(f"H-{number}")

        with CaptureQueriesContext(connection) as many:
            browser.get(NEW)

        assert len(many) == len(few)
        assert len(few) <= 11


class TestRecording:
    def test_clears_every_piece_of_the_loop_and_keeps_what_was_typed(
        self, workshop_clock: Workshop, browser: Client
    ) -> None:
        machine, hoses = workshop_clock.machine(), workshop_clock.piece("H-1")
        glass = workshop_clock.piece("G-1", PieceKind.SIGHT_GLASS)
        workshop_clock.later()

        response = browser.post(NEW, filled(machine, hoses, glass), follow=True)

        purge = Purge.objects.get()
        assert response.redirect_chain == [(reverse("equipment:purge_detail", args=[purge.pk]), 302)]
        assert (purge.circulated_kg, purge.duration_s) == (0.5, 330.0)
        assert purge.final_vacuum_pa == pytest.approx(1_200.0)
        assert purge.readings["circulated"]["typed"] == "0,5"
        assert purge.verified
        words = words_of(response)
        assert "The purge is verified: the loop is clear" in words
        assert "G-1 Piece G-1 Sight glass Unknown residue Clear" in words
        assert "500 g" in words
        assert "= 0.500 kg" in words

    def test_reads_a_vacuum_and_a_mass_in_the_units_of_the_person(
        self, workshop_clock: Workshop, browser: Client
    ) -> None:
        # 1 inHg (0 °C) = 3386.389 Pa, NIST SP 811:2008 appendix B; at 101 325 Pa, 29 inHg of vacuum leave
        # 101 325 - 29 · 3386.389 = 3119.7 Pa.
        User.objects.update(pressure_unit="psi", mass_unit="oz")
        machine = workshop_clock.machine()
        workshop_clock.later()
        form = words_of(browser.get(NEW))
        values = {
            "final_vacuum": "29",
            "final_vacuum_unit": "inHg",
            "circulated": "18",
            "circulated_unit": "oz",
        }

        response = browser.post(NEW, filled(machine, **values), follow=True)

        purge = Purge.objects.get()
        assert "at least 10.58 oz" in form
        assert "27.0 inHg vacuum or better" in form
        assert purge.final_vacuum_pa == pytest.approx(3_119.7, abs=0.1)
        assert purge.circulated_kg == pytest.approx(18 * 0.028349523125)
        assert "29.0 inHg vacuum" in words_of(response)

    def test_that_does_not_reach_its_limits_is_kept_with_every_reason_and_clears_nothing(
        self, workshop_clock: Workshop, browser: Client
    ) -> None:
        machine, hoses = workshop_clock.machine(), workshop_clock.piece("H-1")
        workshop_clock.later()
        poor = {"circulated": "120", "circulated_unit": "g", "duration": "90 s", "final_vacuum": ""}

        words = words_of(browser.post(NEW, filled(machine, hoses, **poor), follow=True))

        assert "The purge is on record, but it cleared nothing" in words
        assert "Too little refrigerant went through the loop; at least 300 g is needed." in words
        assert "The purge was too short; at least 3.0 min is needed." in words
        assert "The final vacuum was not read." in words
        assert "not measured" in words
        assert "H-1 Piece H-1 Hose set Unknown residue Unknown residue" in words
        assert "Purge this loop again" in words
        User.objects.filter(username="timo").update(mass_unit="oz")
        again = words_of(browser.get(reverse("equipment:purge_detail", args=[Purge.objects.get().pk])))
        # 28.349523125 g to the ounce (NIST SP 811:2008, appendix B).
        assert "at least 10.58 oz (300 g) is needed." in again

    @pytest.mark.parametrize(
        ("changes", "sentence"),
        [
            ({"machine": ""}, "Tap the machine that drives the loop."),
            ({"circulated": "half a kilo"}, "“half a kilo” is missing or not a number."),
            ({"circulated": "500 psi"}, "“psi” is not a unit known here"),
            ({"circulated": "500", "circulated_unit": "kg"}, "is not plausible: 0 g to 20000 g"),
            ({"duration": "-5"}, "is not plausible"),
            ({"final_vacuum": "> 5"}, "is a limit, a value is needed"),
            ({"completed": ""}, "This field is required."),
            ({"occurred_at": "2026-03-08T10:00"}, "This can't have happened later than now."),
            ({"occurred_at": "yesterday"}, "Enter a valid date/time."),
            ({"submission_key": "x"}, "Enter a valid UUID."),
            ({"positions": ["OFF_VEHICLE"]}, "Tick every line, or say below that the purge was stopped."),
        ],
    )
    def test_of_something_wrong_is_refused_beside_its_field_and_loses_nothing(
        self, workshop_clock: Workshop, browser: Client, changes: dict[str, Any], sentence: str
    ) -> None:
        machine, hoses = workshop_clock.machine(), workshop_clock.piece("H-1")
        workshop_clock.later()
        typed = {"note": "Second attempt", **changes}

        response = browser.post(NEW, filled(machine, hoses, **typed))

        page = response.content.decode()
        assert response.status_code == 422
        assert sentence in words_of(response)
        assert "Second attempt" in page
        assert f'value="{hoses.pk}" checked' in page
        assert changes.get("circulated", "0,5").replace(">", "&gt;") in page
        assert not Purge.objects.exists()

    def test_says_every_thing_that_is_wrong_at_once(self, workshop_clock: Workshop, browser: Client) -> None:
        machine = workshop_clock.machine()
        wrong = {"circulated": "much", "duration": "2 kg", "final_vacuum": "5 °C"}

        words = words_of(browser.post(NEW, filled(machine, **wrong)))

        assert "“much” is missing or not a number" in words
        assert "“kg” is not a unit known here: use one of s, min, h, d, y." in words
        assert "“°C” is not a unit known here" in words

    def test_of_a_piece_that_was_on_a_car_then_is_refused_with_who_had_it(
        self, workshop_clock: Workshop, browser: Client
    ) -> None:
        workshop = workshop_clock
        machine, hoses = workshop.machine(), workshop.piece("H-1")
        workshop.connect(workshop.circuit(Drive.BELT, Lubricant.PAG), hoses, job="2026-0008")
        workshop.later()

        words = words_of(browser.post(NEW, filled(machine, hoses)))

        assert "H-1 was on job 2026-0008 then. Disconnect it before the purge." in words

    def test_that_was_stopped_needs_no_ticks(self, workshop_clock: Workshop, browser: Client) -> None:
        machine = workshop_clock.machine()
        workshop_clock.later()

        browser.post(NEW, filled(machine, completed="no", positions=[]))

        assert not Purge.objects.get().verified

    def test_entered_for_earlier_is_folded_in_at_its_time(
        self, workshop_clock: Workshop, browser: Client
    ) -> None:
        machine, hoses = workshop_clock.machine(), workshop_clock.piece("H-1")
        moment = workshop_clock.later()
        workshop_clock.later(90)

        words = words_of(
            browser.post(NEW, filled(machine, hoses, occurred_at=f"{moment:%Y-%m-%dT%H:%M}"), follow=True)
        )

        assert Purge.objects.get().occurred_at == moment
        assert "recorded late, 2 Mar 2026 09:40" in words

    def test_leads_back_to_its_job(self, workshop_clock: Workshop, browser: Client) -> None:
        machine = workshop_clock.machine()
        workshop_clock.later()

        response = browser.post(NEW, filled(machine, job="2026-0031"), follow=True)

        assert "Back to job 2026-0031" in words_of(response)
        assert reverse("jobs:job", args=["2026-0031"]) in response.content.decode()


class TestSentTwice:
    def test_is_recorded_once(self, workshop_clock: Workshop, browser: Client) -> None:
        machine, hoses = workshop_clock.machine(), workshop_clock.piece("H-1")
        workshop_clock.later()
        form = filled(machine, hoses)

        first = browser.post(NEW, form)
        workshop_clock.later()
        second = browser.post(NEW, form)

        assert first["Location"] == second["Location"]
        assert Purge.objects.count() == 1
        assert Exposure.objects.filter(piece=hoses, purge__isnull=False).count() == 1

    def test_with_other_readings_is_refused_and_not_swallowed(
        self, workshop_clock: Workshop, browser: Client
    ) -> None:
        machine = workshop_clock.machine()
        workshop_clock.later()
        form = filled(machine)
        browser.post(NEW, form)
        workshop_clock.later()

        response = browser.post(NEW, {**form, "circulated": "0,9"})

        assert response.status_code == 422
        assert "This page was recorded already, with another loop or other readings." in words_of(response)
        assert Purge.objects.count() == 1

    def test_by_another_person_is_another_purge(self, workshop_clock: Workshop) -> None:
        machine, key = workshop_clock.machine(), uuid4()
        other = make_user("tom", Role.TECHNICIAN).as_actor()

        for actor in (workshop_clock.technician, other):
            now = workshop_clock.later()
            purge_submit(
                actor=actor, submission_key=key, machine_id=machine.pk, piece_ids=[], readings=GOOD_PURGE,
                occurred_at=now, now=now,
            )  # fmt: skip

        assert Purge.objects.count() == 2

    def test_named_error_tells_the_difference(self, workshop_clock: Workshop) -> None:
        machine, key, now = workshop_clock.machine(), uuid4(), workshop_clock.later()
        submitted = {
            "actor": workshop_clock.technician, "submission_key": key, "machine_id": machine.pk,
            "piece_ids": [], "occurred_at": now, "now": now,
        }  # fmt: skip
        purge_submit(readings=GOOD_PURGE, **submitted)
        stopped = PurgeReadings(circulated_kg=0.5, duration_s=300.0, final_vacuum_pa=2_000.0, completed=False)

        with pytest.raises(SubmissionReused, match="recorded already, with another loop or other readings"):
            purge_submit(readings=stopped, **submitted)


@pytest.fixture
def bay(transactional_db: None, monkeypatch: pytest.MonkeyPatch) -> Iterator[Workshop]:
    """A workshop whose rows other threads can see."""
    workshop = Workshop()
    monkeypatch.setattr(clock, "now", lambda: workshop.now)
    yield workshop
    connections.close_all()


class TestSentTwiceAtOnce:
    def test_is_recorded_once(self, bay: Workshop, signed_in: SignedIn) -> None:
        machine, hoses = bay.machine(), bay.piece("H-1")
        bay.later()
        form = filled(machine, hoses)
        tablet = signed_in(User.objects.get(username="tilda"))

        def press(_number: int) -> str:
            client = Client()
            client.cookies = tablet.cookies
            try:
                return str(client.post(NEW, form)["Location"])
            finally:
                connections.close_all()

        with ThreadPoolExecutor(max_workers=4) as presses:
            places = set(presses.map(press, range(4)))

        assert places == {reverse("equipment:purge_detail", args=[Purge.objects.get().pk])}


class TestResult:
    def test_of_a_purge_that_a_late_entry_refuted_says_so(
        self, workshop_clock: Workshop, browser: Client
    ) -> None:
        workshop = workshop_clock
        machine, hoses = workshop.machine(), workshop.piece("H-1")
        moment = workshop.later()
        purge = workshop.purge(machine, hoses).purge
        workshop.connect(workshop.circuit(), hoses, job="2026-0012")
        contact_declare(
            actor=workshop.technician, piece_id=machine.pk, occurred_at=moment, now=workshop.later(),
            residue=SEALER, note="Sealer was in that car",
        )  # fmt: skip

        words = words_of(browser.get(reverse("equipment:purge_detail", args=[purge.pk])))

        assert "A late entry shows that this purge could not clear the loop" in words
        assert Incident.objects.filter(job_number="2026-0012").exists()

    def test_asks_the_same_number_of_questions_however_large_the_loop_is(
        self, workshop_clock: Workshop, browser: Client
    ) -> None:
        machine = workshop_clock.machine()
        hoses = [workshop_clock.piece(f"H-{number}") for number in range(6)]
        small = workshop_clock.purge(machine, hoses[0]).purge
        large = workshop_clock.purge(machine, *hoses).purge
        pages = [reverse("equipment:purge_detail", args=[purge.pk]) for purge in (small, large)]
        browser.get(pages[0])

        counts = []
        for page in pages:
            with CaptureQueriesContext(connection) as queries:
                browser.get(page)
            counts.append(len(queries))

        assert counts[0] == counts[1]
        assert counts[0] <= 10


class TestWithoutMachine:
    def test_says_what_comes_first(self, workshop_clock: Workshop, browser: Client) -> None:
        workshop_clock.piece("H-1")

        response = browser.get(NEW)

        assert "No machine yet" in words_of(response)
        assert "Record this purge" not in words_of(response)


class TestStricterShop:
    def test_asks_for_more_and_keeps_its_limits_on_the_record(self, workshop_clock: Workshop) -> None:
        workshop, shop = workshop_clock, shop_get()
        shop.purge_minimum_kg, shop.purge_note = 0.8, "own trials with a rinsed hose"
        shop.save()

        outcome = workshop.purge(workshop.machine(), workshop.piece("H-7"))

        assert [finding.code for finding in outcome.findings] == ["too_little_mass"]
        assert "at least 800 g is needed" in outcome.findings[0].sentence
        assert outcome.purge.method["source"] == "shop policy: own trials with a rinsed hose"
