"""Printed labels: every code leads to its piece, every word is there, nothing leaves its label."""

from __future__ import annotations

from datetime import UTC, datetime
from io import BytesIO
from typing import Any

import pytest
from django.db import DatabaseError, transaction
from django.urls import reverse
from pypdf import PdfReader

from equipment.choices import PieceKind
from equipment.labels import SIZES, label_of
from equipment.models import Piece
from shopcool.core.documents import typeset_labels
from shopcool.people.models import User
from tests.core.documents.reading import text_of
from tests.equipment.page_text import words_of
from tests.equipment.printed import MM, codes_on, letters_of, pages_of, place_of
from tests.equipment.workshop import Workshop
from tests.people_fixtures import SignedIn

MADE = datetime(2026, 3, 2, 8, tzinfo=UTC)
BASE = "http://workshop-server.example:8000"

LONGEST = (
    "Füll- und Spülschlauchsatz mit Schnellkupplungen für Elektrofahrzeuge "
    "aus der hinteren Halle, zweite Reihe oben 4/7"
)
UNBROKEN = "W" * 120
PIECES = [
    Piece(code="M-1", name="Window bay machine", kind="MACHINE", refrigerant="R1234YF"),
    Piece(code="H-3", name="Hoses", kind="HOSE_SET", refrigerant="R1234YF", dedicated_to="POE"),
    Piece(code="I-1", name="Red injector", kind="INJECTOR", refrigerant="R134A", lubricant="PAG",
          lubricant_grade="PAG 46", serial_number="4711"),
    Piece(code="C-9", name="Foul gas", kind="RECOVERY_CYLINDER", is_marked_for_contaminated=True),
    Piece(code="G-1", name="Sight glass", kind="SIGHT_GLASS"),
    Piece(code="LONGEST-CODE-OF-ALL1", name=LONGEST, kind="INJECTOR", refrigerant="R1234YF",
          lubricant="MINERAL", lubricant_grade="Grade of sixty letters " * 2, serial_number="N" * 80),
    Piece(code="W" * 20, name=UNBROKEN, kind="MANIFOLD", refrigerant="R1234YF", dedicated_to="PAG"),
    Piece(code="Z-8", name="冷媒回収装置と高電圧車両専用ホース一式" * 3, kind="ADAPTER"),
]  # fmt: skip


SMALL = {"a4-24", "letter-30", "single-50"}


def address_of(piece: Piece) -> str:
    return f"{BASE}/p/{piece.public_id}"


def paper_of(pdf: bytes) -> tuple[float, float]:
    """Return width and height of the first page [mm]."""
    box = PdfReader(BytesIO(pdf)).pages[0].mediabox
    return float(box.width) / MM, float(box.height) / MM


def printed(size: str, pieces: list[Piece], start: int = 1) -> bytes:
    labels = [label_of(piece, address_of(piece)) for piece in pieces]
    return typeset_labels(SIZES[size].sheet, labels, title="Labels", start=start, language="en", made_at=MADE)


class TestCode:
    @pytest.mark.parametrize(
        ("size", "dpi"), [*((size, 150) for size in SIZES), ("letter-30", 300), ("single-50", 300)]
    )
    def test_is_read_by_an_independent_decoder_from_a_good_and_a_poor_print(
        self, size: str, dpi: int
    ) -> None:
        found = set().union(*(codes_on(picture) for picture in pages_of(printed(size, PIECES), dpi)))

        assert found == {address_of(piece) for piece in PIECES}

    def test_stands_for_one_piece_for_ever(self, workshop: Workshop) -> None:
        piece = workshop.piece("H-1")

        with (
            pytest.raises(DatabaseError, match="printed on its label and never changes"),
            transaction.atomic(),
        ):
            Piece.objects.filter(pk=piece.pk).update(public_id="aaaaaaaaaa")

        Piece.objects.filter(pk=piece.pk).update(code="H-77")
        assert Piece.objects.get(code="H-77").public_id == piece.public_id


class TestWords:
    @pytest.mark.parametrize("size", SIZES)
    def test_all_stand_inside_their_own_label(self, size: str) -> None:
        sheet = SIZES[size].sheet
        told: dict[int, str] = {}

        for number, letters in enumerate(letters_of(printed(size, PIECES))):
            for letter in letters:
                place = place_of(sheet, letter)
                assert place is not None, f"{letter} stands beside the labels"
                index = number * sheet.count + place - 1
                told[index] = told.get(index, "") + letter.sign

        assert len(told) == len(PIECES)
        for index, piece in enumerate(PIECES):
            # Small paper may cut a very long name, and says so with an ellipsis; nothing else is ever cut.
            name = piece.name.replace(" ", "")
            assert piece.code in told[index]
            assert name in told[index] or (size in SMALL and "…" in told[index])

    @pytest.mark.parametrize(
        ("index", "words"),
        [
            (0, ["R-1234yf", "Service machine"]),
            (1, ["R-1234yf", "POE", "For high-voltage circuits", "POE only"]),
            (2, ["R-134a", "PAG", "Never on high-voltage circuits", "PAG only", "PAG 46", "No. 4711"]),
            (3, ["Contaminated gas"]),
            (4, ["Sight glass"]),
        ],
    )
    def test_say_what_never_changes_about_a_piece(self, index: int, words: list[str]) -> None:
        text = text_of(printed("single-100", [PIECES[index]])).replace("high- voltage", "high-voltage")

        for said in [*words, "Colour is not identification."]:
            assert said in text

    def test_of_residue_are_never_printed_since_it_changes(self) -> None:
        text = text_of(printed("single-100", [PIECES[0]]))

        assert "HV" not in text
        assert "PAG" not in text

    def test_are_black_on_white_so_that_a_copy_loses_nothing(self) -> None:
        (picture,) = pages_of(printed("a4-24", PIECES), 72)

        assert {red == green == blue for _count, (red, green, blue) in picture.getcolors(1 << 24)} == {True}


class TestSheet:
    def test_begins_at_the_first_free_label_and_goes_on_over_the_page(self) -> None:
        sheet = SIZES["a4-14"].sheet

        pages = letters_of(printed("a4-14", PIECES[:3], start=13))

        assert [{place_of(sheet, letter) for letter in letters} for letters in pages] == [{13, 14}, {1}]

    def test_has_the_size_of_its_paper(self) -> None:
        # ISO 216: A4 is 210 × 297 mm; ANSI/ASME Y14.1: letter is 8.5 × 11 in.
        boxes = {size: paper_of(printed(size, PIECES[:1])) for size in ("a4-24", "letter-30")}

        assert boxes["a4-24"] == pytest.approx((210, 297), abs=0.1)
        assert boxes["letter-30"] == pytest.approx((8.5 * 25.4, 11 * 25.4), abs=0.1)


class TestPage:
    ADDRESS = "/equipment/labels/"

    def test_is_for_technicians_and_owners(
        self, workshop: Workshop, signed_in: SignedIn, outsider: User, front_desk: User, owner: User
    ) -> None:
        found = [signed_in(user).get(self.ADDRESS).status_code for user in (outsider, front_desk, owner)]

        assert found == [404, 403, 200]

    def test_makes_labels_of_the_ticked_pieces_alone(
        self, workshop: Workshop, signed_in: SignedIn, technician: User, settings: Any
    ) -> None:
        settings.PUBLIC_URL = "https://shop.example/"
        ticked, left = workshop.piece("H-1"), workshop.piece("H-2")

        answer = signed_in(technician).post(
            self.ADDRESS, {"pieces": [ticked.pk], "size": "single-50", "start": "1"}
        )

        assert answer["Content-Type"] == "application/pdf"
        (picture,) = pages_of(answer.content, 150)
        assert codes_on(picture) == {f"https://shop.example{reverse('jobs:scan', args=[ticked.public_id])}"}
        assert left.code not in text_of(answer.content)

    def test_makes_labels_of_everything_in_a_narrowed_list(
        self, workshop: Workshop, signed_in: SignedIn, technician: User
    ) -> None:
        workshop.piece("H-1")
        workshop.piece("G-1", PieceKind.SIGHT_GLASS)

        answer = signed_in(technician).post(
            f"{self.ADDRESS}?kind=SIGHT_GLASS", {"everything": "on", "size": "a4-24", "start": "24"}
        )

        assert "G-1" in text_of(answer.content)
        assert "H-1" not in text_of(answer.content)

    @pytest.mark.parametrize(
        ("values", "sentence"),
        [
            ({"size": "a4-24", "start": "1"}, "Tick the pieces that need a label."),
            ({"size": "a4-24", "start": "25", "everything": "on"}, "This paper has 24 labels on a sheet."),
            ({"size": "a9-1", "start": "1", "everything": "on"}, "a9-1 is not one of the available choices."),
        ],
    )
    def test_says_what_is_missing(
        self,
        workshop: Workshop,
        signed_in: SignedIn,
        technician: User,
        values: dict[str, str],
        sentence: str,
    ) -> None:
        workshop.piece("H-1")

        answer = signed_in(technician).post(self.ADDRESS, values)

        assert answer.status_code == 422
        assert sentence in words_of(answer)

    def test_warns_when_no_tablet_could_open_the_codes(
        self, workshop: Workshop, signed_in: SignedIn, technician: User, settings: Any
    ) -> None:
        sentence = "which only this machine can open"
        client = signed_in(technician)

        assert sentence in words_of(client.get(self.ADDRESS, headers={"host": "localhost"}))
        settings.PUBLIC_URL = "https://shop.example"
        assert sentence not in words_of(client.get(self.ADDRESS, headers={"host": "localhost"}))
