"""The readiness board: where each piece stands, why, and for which car."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from equipment.choices import PieceKind
from equipment.services.exposures import piece_put_out_of_service
from shopcool.people.models import User
from shopcool.shop.selectors import shop_get
from shopcool.vehicles.choices import Drive, Lubricant, Refrigerant
from tests.equipment.page_text import between, words_of
from tests.equipment.workshop import Workshop
from tests.people_fixtures import SignedIn

BOARD = "/equipment/"


@pytest.fixture
def stocked(workshop_clock: Workshop) -> Workshop:
    """A workshop with a piece in each group of the board."""
    workshop = workshop_clock
    machine, hoses, belt = workshop.machine(), workshop.piece("H-1"), workshop.piece("H-2")
    workshop.purge(machine, hoses, belt)
    workshop.connect(workshop.circuit(Drive.BELT, Lubricant.PAG), belt, job="J-1")
    workshop.disconnect("J-1")
    workshop.piece("H-3")
    torn = workshop.piece("A-1", PieceKind.ADAPTER)
    piece_put_out_of_service(
        actor=workshop.technician, piece_id=torn.pk, reason="Seal torn", now=workshop.later()
    )
    workshop.piece("B-1", PieceKind.OIL_BOTTLE)
    return workshop


class TestBoard:
    def test_groups_every_piece_by_what_can_be_done_with_it_now(
        self, stocked: Workshop, technician: User, signed_in: SignedIn
    ) -> None:
        words = words_of(signed_in(technician).get(BOARD))

        high_voltage = between(words, "Ready for high-voltage jobs 2", "Ready for belt jobs 1")
        belt = between(words, "Ready for belt jobs 1", "After a line purge 1")
        purge = between(words, "After a line purge 1", "Not now 1")
        assert "H-1 Piece H-1" in high_voltage
        assert "M-1 Piece M-1" in high_voltage
        assert "Last contact: SC 001, PAG, today" in belt
        assert "Residue of PAG" in belt
        assert "Cleared by: a line purge, then also high-voltage jobs" in belt
        assert "H-3 Piece H-3" in purge
        assert "A-1 is out of service: Seal torn" in between(words, "Not now 1", "Stays off vehicles 1")

    def test_says_who_has_a_piece_with_the_way_to_the_job(
        self, stocked: Workshop, technician: User, signed_in: SignedIn
    ) -> None:
        belt = stocked.circuit(Drive.BELT, Lubricant.PAG)
        stocked.connect(belt, stocked.piece("H-9"), job="2026-0042")

        page = signed_in(technician).get(BOARD)

        assert "On SC 002, job 2026-0042, since today" in words_of(page)
        assert reverse("jobs:job", args=["2026-0042"]) in page.content.decode()

    def test_says_times_as_the_clock_at_the_workshop_shows_them(
        self, workshop_clock: Workshop, technician: User, signed_in: SignedIn
    ) -> None:
        shop = shop_get()
        shop.time_zone = "Asia/Tokyo"
        shop.save()
        circuit, hoses = workshop_clock.circuit(Drive.BELT, Lubricant.PAG), workshop_clock.piece("H-1")
        workshop_clock.connect(circuit, hoses, job="2026-0042")

        today = words_of(signed_in(technician).get(BOARD))
        workshop_clock.later(60 * 8)
        next_day = words_of(signed_in(technician).get(BOARD))

        assert "job 2026-0042, since today 17:10" in today
        assert "job 2026-0042, since yesterday 17:10" in next_day

    def test_warns_of_the_document_that_runs_out_next(
        self, workshop_clock: Workshop, technician: User, signed_in: SignedIn
    ) -> None:
        machine = workshop_clock.machine()
        machine.documents.filter(kind="SCALE_CALIBRATION").update(valid_until="2026-03-20")

        words = words_of(signed_in(technician).get(BOARD))

        assert "Scale calibration runs out soon, on 20 Mar 2026" in words

    def test_of_nothing_says_what_to_do_first(
        self, workshop_clock: Workshop, technician: User, owner: User, signed_in: SignedIn
    ) -> None:
        for_technician = signed_in(technician).get(BOARD)
        for_owner = signed_in(owner).get(BOARD)

        assert "The owner of the workshop registers the machine" in words_of(for_technician)
        assert "Register the service machine first" in words_of(for_owner)
        assert reverse("equipment:register") in for_owner.content.decode()

    def test_shows_one_kind_alone(self, stocked: Workshop, technician: User, signed_in: SignedIn) -> None:
        words = words_of(signed_in(technician).get(BOARD, {"kind": "MACHINE"}))

        assert "M-1 Piece M-1" in words
        assert "H-1 Piece H-1" not in words
        assert "Hose set 3" in words

    def test_asks_the_same_number_of_questions_however_many_pieces_there_are(
        self, stocked: Workshop, technician: User, signed_in: SignedIn
    ) -> None:
        browser = signed_in(technician)
        browser.get(BOARD)
        with CaptureQueriesContext(
            connection,
        ) as few:
            browser.get(BOARD)
        for number in range(20):
            stocked.piece(f"X-{number}")

        with CaptureQueriesContext(connection) as many:
            browser.get(BOARD)

        assert len(many) == len(few)
        assert len(few) <= 15

    def test_says_what_is_out_tomorrow_and_this_week(
        self, workshop_clock: Workshop, technician: User, signed_in: SignedIn
    ) -> None:
        machine = workshop_clock.machine()
        machine.documents.filter(kind="SCALE_CALIBRATION").update(valid_until="2026-03-02")
        machine.documents.filter(kind="CERTIFICATE").update(valid_until="2026-03-06")
        machine.documents.filter(kind="GAUGE_CALIBRATION").update(valid_until="2026-03-09")

        words = words_of(signed_in(technician).get(BOARD))

        assert "From tomorrow M-1 Scale calibration M-1-SCALE_CALIBRATION of M-1" in words
        assert "From Sat 7 Mar M-1 Certificate M-1-CERTIFICATE of M-1" in words
        assert "M-1-GAUGE_CALIBRATION" not in words

    def test_counts_what_does_not_fit_and_shows_it_sheet_by_sheet(
        self, workshop_clock: Workshop, technician: User, signed_in: SignedIn, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr("equipment.pages.board.SHOWN", 2)
        for number in range(1, 6):
            workshop_clock.piece(f"H-{number}")
        browser = signed_in(technician)

        first = browser.get(BOARD)
        rest = words_of(browser.get(BOARD, {"group": "AFTER_PURGE", "page": "3"}))

        assert "After a line purge 5" in words_of(first)
        assert "H-2" in words_of(first)
        assert "H-3" not in words_of(first)
        assert "3 more pieces" in words_of(first)
        assert 'href="?group=AFTER_PURGE"' in first.content.decode()
        assert "H-5" in rest
        assert "H-4" not in rest
        assert "Page 3 of 3" in rest


class TestKindOfCar:
    ASKED = {"drive": "ELECTRIC_HV", "refrigerant": "R1234YF", "lubricant": "POE", "working_voltage": "800"}

    def test_is_answered_as_a_car_on_file_with_the_same_label_is(
        self, stocked: Workshop, technician: User, signed_in: SignedIn
    ) -> None:
        car, browser = stocked.circuit(), signed_in(technician)

        on_file = words_of(browser.get(BOARD, {"circuit": car.pk}))
        described = words_of(browser.get(BOARD, self.ASKED))

        start, end = "May go on this car now", "As of"
        assert between(described, start, end) == between(on_file, start, end)
        assert "Any car of this kind" in described
        assert "800 V" in described

    def test_of_another_kind_is_answered_otherwise(
        self, stocked: Workshop, technician: User, signed_in: SignedIn
    ) -> None:
        asked = {"drive": "BELT", "refrigerant": "R134A", "lubricant": "PAG", "working_voltage": ""}

        words = words_of(signed_in(technician).get(BOARD, asked))

        assert "M-1 is for R-1234yf, the circuit holds R-134a." in words.split("Not on this car")[1]

    @pytest.mark.parametrize(
        ("asked", "sentence"),
        [
            ({"drive": "BELT"}, "A compressor on a belt has no working voltage."),
            ({"drive": "ELECTRIC_LV"}, "More than 60 V is a high-voltage drive"),
            ({"working_voltage": "48"}, "More than 60 V is a high-voltage drive"),
            ({"working_voltage": "NaN"}, "NaN"),
            ({"refrigerant": "R999"}, "R999 is not one of the available choices."),
        ],
    )
    def test_that_contradicts_itself_is_refused_beside_the_field(
        self, stocked: Workshop, technician: User, signed_in: SignedIn, asked: dict[str, str], sentence: str
    ) -> None:
        answer = signed_in(technician).get(BOARD, {**self.ASKED, **asked})

        assert answer.status_code == 422
        assert sentence in words_of(answer)
        assert "Ready for high-voltage jobs 2" in words_of(answer)


class TestCar:
    def test_is_found_by_its_registration_however_it_is_typed(
        self, stocked: Workshop, technician: User, signed_in: SignedIn
    ) -> None:
        car = stocked.circuit(refrigerant=Refrigerant.R134A)
        browser = signed_in(technician)

        one = words_of(browser.get(BOARD, {"plate": "sc-002"}))
        several = browser.get(BOARD, {"plate": "sc"})
        none = words_of(browser.get(BOARD, {"plate": "ZZ 9"}))

        assert f"{car.vehicle} A/C" in one
        assert f"?circuit={car.pk}" in several.content.decode()
        assert "No car with “ZZ 9” in its registration" in none

    def test_sorts_the_pieces_by_the_clearance_rules_with_every_reason(
        self, stocked: Workshop, technician: User, signed_in: SignedIn
    ) -> None:
        car = stocked.circuit()
        injector = {"refrigerant": Refrigerant.R134A, "lubricant": Lubricant.PAG}
        stocked.piece("I-1", PieceKind.INJECTOR, **injector)

        words = words_of(signed_in(technician).get(BOARD, {"circuit": car.pk}))

        ready = between(words, "May go on this car now 2", "After a line purge 2")
        purge = between(words, "After a line purge 2", "Not on this car 2")
        refused = words.split("Not on this car 2", 1)[1]
        assert "H-1 Piece H-1" in ready
        assert "H-2 holds residue of PAG, which conducts" in purge
        assert "I-1 is for R-134a, the circuit holds R-1234yf." in refused
        assert "I-1 is labelled for PAG oil, the circuit needs POE." in refused
        assert "Nobody knows what I-1 last touched." in refused
        assert "Source: SAE J639: unique fittings and label per refrigerant" in refused

    def test_without_a_known_oil_clears_nothing(
        self, stocked: Workshop, technician: User, signed_in: SignedIn
    ) -> None:
        car = stocked.circuit(lubricant=Lubricant.UNKNOWN)

        words = words_of(signed_in(technician).get(BOARD, {"circuit": car.pk}))

        assert "Nothing may be connected to this car yet" in words
        assert "The oil class of this circuit is not known." in words
        assert "May go on this car now" not in words
        assert "Waits for the label" in words

    @pytest.mark.parametrize("number", ["", "x", "-1", "999999", "9" * 40])
    def test_that_does_not_exist_is_left_out(
        self, stocked: Workshop, technician: User, signed_in: SignedIn, number: str
    ) -> None:
        words = words_of(signed_in(technician).get(BOARD, {"circuit": number}))

        assert "Ready for high-voltage jobs 2" in words
