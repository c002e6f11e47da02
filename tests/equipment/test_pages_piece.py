"""The page of a piece: its condition, its life, and what happens to it."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from equipment.choices import ExposureKind, PieceKind
from equipment.exposure import ExposureEvent, Residue
from equipment.incidents import Incident
from equipment.models import Exposure, Piece, PieceDocument
from equipment.pages.life import carried_spans
from equipment.services.exposures import contact_declare, exposure_withdraw
from shopcool.people.models import User
from shopcool.shop.selectors import shop_get
from shopcool.vehicles.choices import Drive, Lubricant
from tests.equipment.page_text import words_of
from tests.equipment.workshop import START, Workshop
from tests.people_fixtures import SignedIn


def page(code: str = "H-1") -> str:
    return reverse("equipment:piece", args=[code])


def action(slug: str, code: str = "H-1") -> str:
    return reverse(f"equipment:{slug}", args=[code])


def refused_lines(response: object) -> str:
    assert response.status_code == 422  # type: ignore[attr-defined]
    return words_of(response)


class TestPage:
    def test_says_the_condition_and_what_the_piece_may_be_used_for(
        self, workshop_clock: Workshop, technician: User, signed_in: SignedIn
    ) -> None:
        workshop = workshop_clock
        machine, hoses = workshop.machine(), workshop.piece("H-1")
        workshop.purge(machine, hoses)
        workshop.connect(workshop.circuit(Drive.BELT, Lubricant.PAG), hoses)
        workshop.disconnect()

        response = signed_in(technician).get(page())

        words = words_of(response)
        assert "It holds residue of PAG, which must not reach a high-voltage compressor." in words
        assert "High-voltage jobs Not now" in words
        assert "Belt jobs Ready" in words
        assert f"{reverse('equipment:purge')}?pieces={hoses.pk}" in response.content.decode()

    def test_tells_every_entry_with_its_person_and_job(
        self, workshop_clock: Workshop, technician: User, signed_in: SignedIn
    ) -> None:
        workshop = workshop_clock
        machine, hoses = workshop.machine(), workshop.piece("H-1")
        workshop.purge(machine, hoses)
        workshop.connect(workshop.circuit(Drive.BELT, Lubricant.PAG), hoses, job="2026-0007")

        words = words_of(signed_in(technician).get(page()))

        assert "Connected to SC 001 Example Test PAG, R-1234yf 2 Mar 2026 08:20 Tilda Job 2026-0007" in words
        assert "Line purge with M-1 and R-1234yf 2 Mar 2026 08:10 Tilda The purge" in words
        assert "Taken into the workshop" in words

    def test_shows_times_at_the_workshop(
        self, workshop_clock: Workshop, technician: User, signed_in: SignedIn
    ) -> None:
        shop = shop_get()
        shop.time_zone = "America/New_York"
        shop.save()
        workshop_clock.piece("H-1")

        assert "Taken into the workshop 2 Mar 2026 03:00" in words_of(signed_in(technician).get(page()))

    def test_keeps_a_withdrawn_entry_readable_with_its_reason(
        self, workshop_clock: Workshop, technician: User, signed_in: SignedIn
    ) -> None:
        workshop = workshop_clock
        hoses = workshop.piece("H-1")
        wrong = contact_declare(
            actor=workshop.technician, piece_id=hoses.pk, occurred_at=workshop.now, now=workshop.later(),
            residue=Residue(lubricants=frozenset({"PAG"})), note="On the wrong car",
        ).exposure  # fmt: skip
        exposure_withdraw(
            actor=workshop.owner, exposure=wrong, reason="It was H-2 instead", now=workshop.later()
        )

        response = signed_in(technician).get(page())

        assert "<s>On the wrong car</s>" in response.content.decode()
        assert "Withdrawn by Orla, 2 Mar 2026 08:20: It was H-2 instead" in words_of(response)

    def test_of_a_machine_lists_its_documents_and_when_they_end(
        self, workshop_clock: Workshop, technician: User, signed_in: SignedIn
    ) -> None:
        machine = workshop_clock.machine()
        machine.documents.filter(kind="GAUGE_CALIBRATION").update(valid_until=date(2026, 2, 1))

        words = words_of(signed_in(technician).get(page("M-1")))

        assert "R-1234yf, high-voltage compressors" in words
        assert "Gauge calibration M-1-GAUGE_CALIBRATION" in words
        assert "ran out on 1 Feb 2026" in words

    def test_of_a_retired_piece_stays_readable_and_offers_nothing(
        self, workshop_clock: Workshop, owner: User, signed_in: SignedIn
    ) -> None:
        workshop_clock.piece("H-1")
        workshop_clock.later()
        browser = signed_in(owner)

        browser.post(action("retire"), {"reason": "Worn out"})

        words = words_of(browser.get(page()))
        assert "Retired on 2 Mar 2026: Worn out" in words
        assert "Something happened?" not in words
        assert browser.get(action("contact")).status_code == 404

    def test_asks_the_same_number_of_questions_however_long_the_life_is(
        self, workshop_clock: Workshop, technician: User, signed_in: SignedIn
    ) -> None:
        workshop = workshop_clock
        hoses, car = workshop.piece("H-1"), workshop.circuit(Drive.BELT, Lubricant.PAG)
        browser = signed_in(technician)
        workshop.connect(car, hoses, job="J-0")
        workshop.disconnect("J-0")
        browser.get(page())
        with CaptureQueriesContext(connection) as short:
            browser.get(page())
        for number in range(1, 9):
            workshop.connect(car, hoses, job=f"J-{number}")
            workshop.disconnect(f"J-{number}")

        with CaptureQueriesContext(connection) as long:
            browser.get(page())

        assert len(long) == len(short)
        assert len(short) <= 22

    def test_turns_the_pages_of_a_long_life_and_keeps_the_drawing(
        self, workshop_clock: Workshop, technician: User, signed_in: SignedIn
    ) -> None:
        workshop, browser = workshop_clock, signed_in(technician)
        hoses, car = workshop.piece("H-1"), workshop.circuit(Drive.BELT, Lubricant.PAG)
        for number in range(12):
            workshop.connect(car, hoses, job=f"J-{number:02d}")
            workshop.disconnect(f"J-{number:02d}")

        newest = words_of(browser.get(page(), {"days": "14"}))
        oldest = browser.get(page(), {"days": "14", "page": "2"})

        assert "Job J-11" in newest
        assert "Job J-00" not in newest
        assert "Job J-00" in words_of(oldest)
        assert "?days=14&amp;page=1" in oldest.content.decode()


class TestDrawing:
    def test_bars_follow_the_fold_of_the_log(self) -> None:
        start = START
        pag, poe = Residue(frozenset({"PAG"})), Residue(frozenset({"POE"}))
        hour = timedelta(hours=1)
        events = [
            ExposureEvent(ExposureKind.REGISTERED, start - hour, 1),
            ExposureEvent(ExposureKind.PURGED, start + hour, 2, verified=True),
            ExposureEvent(ExposureKind.CONNECTED, start + 2 * hour, 3, poe),
            ExposureEvent(ExposureKind.CONNECTED, start + 3 * hour, 4, pag),
            ExposureEvent(ExposureKind.OUT_OF_SERVICE, start + 4 * hour, 5),
        ]

        spans = carried_spans(events, start, start + 5 * hour)

        assert [(span.oil, span.start - start, span.end - start) for span in spans if span.end] == [
            ("unknown", 0 * hour, hour),
            ("clear", hour, 2 * hour),
            ("poe", 2 * hour, 3 * hour),
            ("several", 3 * hour, 4 * hour),
            ("out", 4 * hour, 5 * hour),
        ]

    def test_starts_with_what_was_carried_before_the_drawing_begins(self) -> None:
        before = ExposureEvent(ExposureKind.PURGED, START - timedelta(days=9), 1, verified=True)

        (span,) = carried_spans([before], START, START + timedelta(days=1))

        assert span.oil == "clear"


class TestContact:
    def test_with_a_car_takes_its_oil_from_the_label(
        self, workshop_clock: Workshop, technician: User, signed_in: SignedIn
    ) -> None:
        hoses = workshop_clock.piece("H-1")
        workshop_clock.circuit(Drive.BELT, Lubricant.PAG)
        workshop_clock.later()

        signed_in(technician).post(action("contact"), {"plate": "sc001", "note": "Topped it up"})

        entry = Exposure.objects.get(piece=hoses, kind=ExposureKind.CONTACT_DECLARED)
        assert (entry.lubricants, entry.circuit.vehicle.registration) == (["PAG"], "SC 001")
        assert entry.recorded_by_name == "Timo Lindqvist"

    @pytest.mark.parametrize(
        ("data", "sentence"),
        [
            ({"note": "Something"}, "Name the car, or tick what the piece touched."),
            ({"plate": "ZZ 1", "note": "Something"}, "No vehicle has this registration."),
            ({"lubricants": "PAG"}, "This field is required."),
            ({"lubricants": "PAG", "note": "x", "occurred_at": "2026-03-09T10:00"}, "later than now"),
            ({"lubricants": "WATER", "note": "x"}, "Select a valid choice."),
        ],
    )
    def test_that_says_too_little_is_refused_beside_its_field_and_keeps_what_was_typed(
        self,
        workshop_clock: Workshop,
        technician: User,
        signed_in: SignedIn,
        data: dict[str, str],
        sentence: str,
    ) -> None:
        workshop_clock.piece("H-1")
        workshop_clock.later()

        response = signed_in(technician).post(action("contact"), data)

        assert sentence in refused_lines(response)
        assert data.get("note", "") in response.content.decode()
        assert not Exposure.objects.filter(kind=ExposureKind.CONTACT_DECLARED).exists()

    def test_asks_which_circuit_when_the_car_has_two(
        self, workshop_clock: Workshop, technician: User, signed_in: SignedIn
    ) -> None:
        hoses, car = workshop_clock.piece("H-1"), workshop_clock.circuit()
        second = car.vehicle.circuits.create(name="Battery chiller", drive=Drive.ELECTRIC_HV, lubricant="POE")
        workshop_clock.later()
        data = {"plate": "SC 001", "note": "Hoses on the chiller"}
        browser = signed_in(technician)

        asked = browser.post(action("contact"), data)
        told = browser.post(action("contact"), {**data, "circuit": second.pk})

        assert "Which circuit" in refused_lines(asked)
        assert "Battery chiller" in words_of(asked)
        assert told.status_code == 302
        assert Exposure.objects.get(piece=hoses, circuit=second).note == "Hoses on the chiller"

    def test_entered_late_says_which_connections_should_have_been_refused(
        self, workshop_clock: Workshop, technician: User, signed_in: SignedIn
    ) -> None:
        workshop = workshop_clock
        machine, hoses = workshop.machine(), workshop.piece("H-1")
        workshop.purge(machine, hoses)
        moment = workshop.later()
        workshop.circuit(Drive.BELT, Lubricant.PAG)
        workshop.connect(workshop.circuit(), hoses, job="2026-0009")
        workshop.disconnect("2026-0009")
        workshop.later()
        data = {"plate": "SC 001", "note": "Forgot", "occurred_at": f"{moment:%Y-%m-%dT%H:%M}"}

        response = signed_in(technician).post(action("contact"), data, follow=True)

        incident = Incident.objects.get()
        words = words_of(response)
        assert "This entry shows that an earlier connection should have been refused" in words
        assert "SC 002 Example Test, job 2026-0009" in words
        assert reverse("equipment:incident", args=[incident.pk]) in response.content.decode()
        assert "Recorded late" in words


class TestInspection:
    def test_that_found_nothing_clears_an_injector(
        self, workshop_clock: Workshop, owner: User, signed_in: SignedIn
    ) -> None:
        injector = workshop_clock.piece("I-1", PieceKind.INJECTOR, refrigerant="R134A", lubricant="POE")
        workshop_clock.later()

        signed_in(owner).post(action("inspect", "I-1"), {"finding": "CLEAN", "note": "Sheet 4"})

        injector.state.refresh_from_db()
        assert injector.state.condition().residue == Residue()

    @pytest.mark.parametrize(
        ("data", "sentence"),
        [
            ({"finding": "CLEAN", "lubricants": "PAG"}, "Residue is ticked below."),
            ({"finding": "RESIDUE"}, "Tick what was found."),
            ({}, "This field is required."),
        ],
    )
    def test_that_contradicts_itself_is_refused(
        self,
        workshop_clock: Workshop,
        owner: User,
        signed_in: SignedIn,
        data: dict[str, str],
        sentence: str,
    ) -> None:
        workshop_clock.piece("H-1")
        workshop_clock.later()

        response = signed_in(owner).post(action("inspect"), {**data, "note": "Sheet 4"})

        assert sentence in refused_lines(response)
        assert not Exposure.objects.filter(kind=ExposureKind.INSPECTED).exists()


class TestDocument:
    def test_contradicting_its_own_dates_is_refused_beside_the_field(
        self, workshop_clock: Workshop, owner: User, signed_in: SignedIn
    ) -> None:
        workshop_clock.machine()
        data = {
            "kind": "SCALE_CALIBRATION", "number": "S-9", "body": "Board",
            "issued_on": "2026-02-01", "valid_until": "2026-01-01",
        }  # fmt: skip

        response = signed_in(owner).post(action("document", "M-1"), data)

        assert "It can't end before it was issued." in refused_lines(response)
        assert not PieceDocument.objects.filter(number="S-9").exists()

    def test_is_kept_as_it_is_written_on_its_paper(
        self, workshop_clock: Workshop, owner: User, signed_in: SignedIn
    ) -> None:
        machine = workshop_clock.machine()
        data = {
            "kind": "CERTIFICATE", "number": "C-77", "body": "Board", "issued_on": "2026-02-01",
            "standard": "SAE J2843", "edition": "2019", "refrigerants": ["R1234YF"],
            "covers_high_voltage": "on",
        }  # fmt: skip

        signed_in(owner).post(action("document", "M-1"), data)

        kept = PieceDocument.objects.get(piece=machine, number="C-77")
        assert (kept.standard, kept.edition, kept.refrigerants) == ("SAE J2843", "2019", ["R1234YF"])
        assert kept.covers_high_voltage
        assert kept.valid_until is None


class TestRegistering:
    def address(self, kind: PieceKind) -> str:
        return f"{reverse('equipment:register')}?kind={kind.value}"

    def test_begins_with_unknown_residue(
        self, workshop_clock: Workshop, owner: User, signed_in: SignedIn
    ) -> None:
        data = {"code": " h-4 ", "name": "Green hoses", "refrigerant": "R1234YF", "dedicated_to": "POE"}

        response = signed_in(owner).post(self.address(PieceKind.HOSE_SET), data, follow=True)

        piece = Piece.objects.get()
        assert (piece.code, piece.dedicated_to) == ("H-4", "POE")
        assert "Nobody knows what is inside. Unknown is not clean." in words_of(response)

    def test_asks_a_machine_about_injection_and_takes_silence_as_unknown(
        self, workshop_clock: Workshop, owner: User, signed_in: SignedIn
    ) -> None:
        data = {"code": "M-9", "name": "Machine", "refrigerant": "R134A", "can_inject_dye": "no"}

        signed_in(owner).post(self.address(PieceKind.MACHINE), data)

        piece = Piece.objects.get()
        assert piece.can_inject_dye is False
        assert piece.can_inject_oil is None

    @pytest.mark.parametrize(
        ("kind", "data", "sentence"),
        [
            (PieceKind.MACHINE, {"code": "M-9"}, "This field is required."),
            (PieceKind.INJECTOR, {"code": "I-9", "refrigerant": "R134A"}, "This field is required."),
            (PieceKind.ADAPTER, {"code": "A/9"}, "Use letters, digits and - . _ only"),
            (PieceKind.ADAPTER, {"code": "h-1"}, "Another piece has the code H-1 already."),
        ],
    )
    def test_of_an_incomplete_label_is_refused(
        self,
        workshop_clock: Workshop,
        owner: User,
        signed_in: SignedIn,
        kind: PieceKind,
        data: dict[str, str],
        sentence: str,
    ) -> None:
        workshop_clock.piece("H-1")

        response = signed_in(owner).post(self.address(kind), {"name": "New piece", **data})

        assert sentence in refused_lines(response)
        assert [piece.code for piece in Piece.objects.all()] == ["H-1"]


class TestPressedTwice:
    def test_without_script_writes_one_entry_and_leads_to_it_both_times(
        self, workshop_clock: Workshop, owner: User, signed_in: SignedIn
    ) -> None:
        workshop_clock.piece("H-1")
        browser = signed_in(owner)
        form = browser.get(action("out-of-service")).context["form"]
        sent = {"note": "Seal torn", "submission_key": form["submission_key"].value()}

        answers = [browser.post(action("out-of-service"), sent) for _press in range(2)]

        assert Exposure.objects.filter(kind=ExposureKind.OUT_OF_SERVICE).count() == 1
        assert answers[0].status_code == 302
        assert answers[0].url == answers[1].url

    def test_with_something_else_in_it_is_refused(
        self, workshop_clock: Workshop, owner: User, signed_in: SignedIn
    ) -> None:
        workshop_clock.piece("H-1")
        browser, key = signed_in(owner), "2f6c3c0e-8f1b-4c3c-9a51-0d6f3f0f7c11"
        browser.post(action("came-back"), {"note": "From bay 9", "submission_key": key})

        again = browser.post(action("came-back"), {"note": "From bay 8", "submission_key": key})

        assert "This page was recorded already, with something else in it." in refused_lines(again)
        assert Exposure.objects.filter(kind=ExposureKind.RESIDUE_UNKNOWN).count() == 1

    def test_is_one_document_with_who_entered_it_and_when(
        self, workshop_clock: Workshop, owner: User, signed_in: SignedIn
    ) -> None:
        workshop_clock.piece("M-1", PieceKind.MACHINE, refrigerant="R1234YF")
        paper = {"kind": "SCALE_CALIBRATION", "number": "7", "body": "Board", "issued_on": "2026-03-01"}
        browser = signed_in(owner)

        for _press in range(2):
            browser.post(action("document", "M-1"), paper)

        document = PieceDocument.objects.get()
        assert (document.recorded_by, document.recorded_by_name) == (owner, "Olga Brandt")
        assert document.created_at == workshop_clock.now
