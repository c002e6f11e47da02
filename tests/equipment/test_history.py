"""The history of the equipment: one piece's whole life, the log of all, the file and the document."""

from __future__ import annotations

import csv
import io
from datetime import UTC, datetime
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from equipment.attachments import document_parent, piece_parent
from equipment.history import Cursor, Scope, Topic, entries, sheet
from equipment.history.document import proof_of
from equipment.ledger import Content
from equipment.models import Piece, PieceDocument
from equipment.services.exposures import contact_declare, exposure_withdraw, piece_put_out_of_service
from equipment.services.ledger import AccountKind, account_of_kind, account_of_piece, refrigerant_move
from shopcool.attachments.preparing import Upload
from shopcool.attachments.services import attachment_add, attachment_withdraw
from shopcool.core.records import StreamHead
from shopcool.people.models import User
from shopcool.vehicles.choices import Drive, Lubricant
from tests.attachments.files import photo
from tests.core.documents.reading import text_of
from tests.equipment.page_text import words_of
from tests.equipment.workshop import START, Workshop
from tests.people_fixtures import SignedIn

LOG = "/equipment/log/"


@pytest.fixture
def lived(workshop_clock: Workshop) -> Workshop:
    """A machine and hoses that went through everything: purge, car, refusal, override, gas, withdrawal."""
    workshop = workshop_clock
    machine, hoses = workshop.machine(), workshop.piece("H-1")
    workshop.purge(machine, hoses)
    workshop.connect(workshop.circuit(Drive.BELT, Lubricant.PAG), machine, hoses, job="J-1")
    workshop.disconnect("J-1")
    electric = workshop.circuit()
    workshop.connect(electric, hoses, job="J-2")
    workshop.connect(electric, hoses, job="J-2", actor=workshop.owner, override_reason="=scrap car")
    supplier = account_of_kind(AccountKind.SUPPLIER)
    refrigerant_move(
        actor=workshop.owner, source=supplier, target=account_of_piece(machine), content=Content.R1234YF,
        mass_kg=4.5, now=workshop.later(), note="First filling",
    )  # fmt: skip
    return workshop


def piece(code: str) -> Piece:
    return Piece.objects.get(code=code)


def titles(scope: Scope) -> list[str]:
    return [entry.title for entry in entries(scope)]


def rows_of(response: Any) -> list[dict[str, str]]:
    text = b"".join(response.streaming_content).decode("utf-8-sig")
    return list(csv.DictReader(io.StringIO(text, newline="")))


class TestHistory:
    def test_of_a_piece_tells_everything_newest_first(self, lived: Workshop) -> None:
        told = list(entries(Scope(piece_id=piece("H-1").pk)))

        assert [entry.at for entry in told] == sorted((entry.at for entry in told), reverse=True)
        assert {entry.topic for entry in told} == {
            Topic.CONTACT, Topic.PURGE, Topic.CLEARANCE, Topic.INCIDENT,
        }  # fmt: skip
        assert told[-1].title == "H-1: Taken into the workshop"
        assert {"Must not be connected", "Connected on the owner's responsibility"} <= {
            entry.verdict for entry in told
        }

    def test_of_a_machine_holds_its_documents_and_its_gas(self, lived: Workshop) -> None:
        told = titles(Scope(piece_id=piece("M-1").pk))

        assert "4.500 kg R-1234yf from Supplier to M-1" in told
        assert "M-1: Certificate M-1-CERTIFICATE" in told

    def test_says_of_a_withdrawn_entry_that_it_does_not_count(self, lived: Workshop) -> None:
        torn = piece_put_out_of_service(
            actor=lived.owner, piece_id=piece("M-1").pk, reason="Seal", now=lived.later()
        ).exposure
        exposure_withdraw(actor=lived.owner, exposure=torn, reason="Wrong machine", now=lived.later())

        told = {entry.title: entry for entry in entries(Scope(piece_id=piece("M-1").pk))}

        assert told["M-1: Put out of service"].text == "Withdrawn later, it does not count. · Seal"
        assert f"Withdraws entry {torn.sequence} of this piece." in told["M-1: Entry withdrawn"].text

    def test_of_a_piece_names_what_was_attached_to_it_and_to_its_papers(self, lived: Workshop) -> None:
        machine, paper = piece("M-1"), PieceDocument.objects.select_related("piece").latest("pk")
        for parent, caption in ((piece_parent(machine), "Dent"), (document_parent(paper), "")):
            wrong = attachment_add(
                actor=lived.owner, parent=parent, upload=Upload("scan.jpg", photo()), caption=caption,
                submission_key=uuid4(), now=lived.later(),
            )  # fmt: skip
        scope = Scope(piece_id=machine.pk, topics=frozenset([Topic.ATTACHMENT]))

        assert titles(scope) == ["M-1: scan.jpg", "M-1: Dent"]
        attachment_withdraw(actor=lived.owner, attachment=wrong, reason="Other machine", now=lived.later())
        assert next((entry.title, entry.text, entry.url) for entry in entries(scope)) == (
            "M-1: attachment, withdrawn", "Withdrawn by Orla: Other machine", "",
        )  # fmt: skip
        assert titles(Scope(piece_id=piece("H-1").pk, topics=frozenset([Topic.ATTACHMENT]))) == []

    @pytest.mark.parametrize("size", [1, 7])
    def test_comes_to_the_same_in_sheets_of_any_size(self, lived: Workshop, size: int) -> None:
        whole = list(entries(Scope()))

        assert len(whole) >= 18
        assert list(entries(Scope(), size=size)) == whole

    def test_of_a_period_begins_with_its_first_moment_and_ends_before_its_last(self, lived: Workshop) -> None:
        moments = sorted({entry.at for entry in entries(Scope())})
        first, last = moments[2], moments[5]

        told = list(entries(Scope(since=first, until=last)))

        assert {entry.at for entry in told} == {moment for moment in moments if first <= moment < last}

    def test_is_narrowed_by_what_a_log_knows_and_leaves_the_others_away(self, lived: Workshop) -> None:
        by_job = list(entries(Scope(job_number="J-1")))
        refused = list(entries(Scope(verdict="REFUSED")))
        by_owner = list(entries(Scope(person_id=lived.owner.user_id)))

        assert {entry.job_number for entry in by_job} == {"J-1"}
        assert [entry.topic for entry in refused] == [Topic.CLEARANCE]
        assert {entry.who for entry in by_owner} == {"Orla"}

    def test_asks_the_same_number_of_questions_however_much_happened(self, lived: Workshop) -> None:
        with CaptureQueriesContext(connection) as few:
            sheet(Scope(), size=50)
        for number in range(60):
            lived.piece(f"X-{number}")

        with CaptureQueriesContext(connection) as many:
            sheet(Scope(), size=50)

        assert len(many) <= len(few) <= 11

    @pytest.mark.parametrize("text", ["", "x", "~~", "2026-01-01T00:00:00~1~2", "2026-01-01T00:00:00Z~-1~2"])
    def test_of_a_place_that_does_not_exist_begins_at_the_newest(self, text: str) -> None:
        assert Cursor.read(text) is None

    def test_place_survives_the_way_through_an_address(self) -> None:
        cursor = Cursor(datetime(2026, 3, 2, 8, 0, 0, 5, tzinfo=UTC), 3, 17)

        assert Cursor.read(str(cursor)) == cursor


class TestPages:
    def test_of_a_piece_shows_its_life_to_every_colleague(
        self, lived: Workshop, technician: User, outsider: User, signed_in: SignedIn
    ) -> None:
        browser = signed_in(technician)

        words = words_of(browser.get("/equipment/H-1/history/"))
        purges = words_of(browser.get("/equipment/H-1/history/", {"topic": "PURGE"}))

        assert "H-1: Connected to SC 001" in words
        assert "H-1: Line purge" in purges
        assert "H-1: Connected to SC 001" not in purges
        assert signed_in(outsider).get("/equipment/H-1/history/").status_code == 404
        assert signed_in(outsider).get("/equipment/H-1/history.pdf").status_code == 404

    def test_leads_to_older_entries_with_the_filter_kept(
        self, lived: Workshop, technician: User, signed_in: SignedIn
    ) -> None:
        hoses, car = piece("H-1"), lived.circuit()
        for _number in range(60):
            contact_declare(
                actor=lived.owner, piece_id=hoses.pk, occurred_at=lived.later(), now=lived.now,
                circuit=car, note="Again",
            )  # fmt: skip
        browser = signed_in(technician)

        page = browser.get("/equipment/H-1/history/", {"topic": "CONTACT"}).content.decode()
        older = page.split('href="?topic=CONTACT&amp;before=')[1].split('"')[0]
        second = browser.get(f"/equipment/H-1/history/?topic=CONTACT&before={older}")

        assert "H-1: Taken into the workshop" in words_of(second)
        assert "Back to the newest" in words_of(second)

    def test_says_of_a_digest_whether_it_belongs_to_the_piece(
        self, lived: Workshop, technician: User, signed_in: SignedIn
    ) -> None:
        browser, proof = signed_in(technician), proof_of(piece("H-1"))

        known = words_of(browser.get("/equipment/H-1/history/", {"digest": f" {proof.head.upper()} "}))
        other = words_of(browser.get("/equipment/M-1/history/", {"digest": proof.head}))

        assert f"This digest is entry {proof.length} in the chain of this piece" in known
        assert "No entry of this piece has this digest." in other

    @pytest.mark.parametrize(
        ("asked", "sentence"),
        [
            ({"first": "2026-03-02", "last": "2026-03-01"}, "The period ends before it begins."),
            ({"first": "0001-01-01"}, "A day between 1980 and 2200, please."),
            ({"last": "9999-12-31"}, "A day between 1980 and 2200, please."),
            ({"topic": "X"}, "Select a valid choice."),
        ],
    )
    def test_refuses_a_period_that_can_not_be(
        self, lived: Workshop, technician: User, signed_in: SignedIn, asked: dict[str, str], sentence: str
    ) -> None:
        answer = signed_in(technician).get("/equipment/H-1/history/", asked)

        assert answer.status_code == 422
        assert sentence in words_of(answer)


class TestDocument:
    def test_tells_the_life_and_the_digest_of_its_chain(
        self, lived: Workshop, technician: User, signed_in: SignedIn
    ) -> None:
        answer = signed_in(technician).get("/equipment/H-1/history.pdf")

        text = text_of(answer.content).replace("\n", " ")
        head = StreamHead.objects.get(stream=f"exposure:piece:{piece('H-1').pk}")
        assert answer.headers["Content-Disposition"] == 'attachment; filename="H-1-history.pdf"'
        assert "H-1: Connected to SC 001" in text
        assert head.hash in text.replace(" ", "").replace("\u200b", "")
        assert "none was changed" in text

    def test_of_more_than_anybody_reads_asks_for_a_shorter_period(
        self, lived: Workshop, technician: User, signed_in: SignedIn, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr("equipment.history.document.MOST_ENTRIES", 3)

        answer = signed_in(technician).get("/equipment/H-1/history.pdf")

        assert answer.status_code == 400
        assert "This period holds more than 3 entries." in words_of(answer)


class TestProof:
    def test_names_the_first_entry_that_was_changed_behind_its_back(self, lived: Workshop) -> None:
        hoses = piece("H-1")
        assert proof_of(hoses).finding == ""
        with connection.cursor() as cursor:
            cursor.execute("SET LOCAL session_replication_role = replica")
            cursor.execute(
                "UPDATE equipment_exposure SET note = 'x' WHERE piece_id = %s AND sequence = 2", [hoses.pk]
            )

        assert "row 2: its content was changed after it was recorded" in proof_of(hoses).finding
        assert proof_of(piece("M-1")).finding == ""


class TestLog:
    def test_is_for_owners(
        self, lived: Workshop, owner: User, technician: User, outsider: User, signed_in: SignedIn
    ) -> None:
        for address in (LOG, "/equipment/log.csv"):
            assert signed_in(owner).get(address).status_code == 200
            assert signed_in(technician).get(address).status_code == 403
            assert signed_in(outsider).get(address).status_code == 404

    def test_is_narrowed_by_piece_person_job_and_verdict(
        self, lived: Workshop, owner: User, signed_in: SignedIn
    ) -> None:
        browser = signed_in(owner)

        machine = words_of(browser.get(LOG, {"piece": "m-1"}))
        refused = words_of(browser.get(LOG, {"verdict": "REFUSED", "job": "J-2"}))
        unknown = browser.get(LOG, {"piece": "Z-9"})

        assert "M-1: Connected to SC 001" in machine
        assert "H-1: Connected" not in machine
        assert "Must not be connected" in refused
        assert unknown.status_code == 422
        assert "No piece has the code Z-9." in words_of(unknown)

    def test_as_a_file_is_read_by_an_independent_reader_with_its_numbers(
        self, lived: Workshop, owner: User, signed_in: SignedIn
    ) -> None:
        answer = signed_in(owner).get("/equipment/log.csv")

        rows = rows_of(answer)
        assert answer.headers["Content-Type"] == "text/csv; charset=utf-8"
        assert len(rows) == len(list(entries(Scope())))
        (moved,) = [row for row in rows if row["Mass moved [kg]"]]
        assert float(moved["Mass moved [kg]"]) == 4.5
        purge = next(row for row in rows if row["Topic"] == "Line purges")
        assert [float(purge[name]) for name in ("Mass circulated [kg]", "Duration [s]")] == [0.5, 300.0]
        assert datetime.fromisoformat(rows[-1]["Moment"]).utcoffset() is not None
        assert datetime.fromisoformat(rows[-1]["Moment"]) == START

    def test_as_a_file_computes_nothing_that_somebody_typed(
        self, lived: Workshop, owner: User, signed_in: SignedIn
    ) -> None:
        rows = rows_of(signed_in(owner).get("/equipment/log.csv", {"verdict": "OVERRIDDEN"}))

        assert [row["Note"][:11] for row in rows] == ["'=scrap car"]

    def test_as_a_file_refuses_a_wrong_filter_rather_than_give_everything(
        self, lived: Workshop, owner: User, signed_in: SignedIn
    ) -> None:
        answer = signed_in(owner).get("/equipment/log.csv", {"piece": "Z-9"})

        assert answer.status_code == 422
        assert "No piece has the code Z-9." in words_of(answer)
