"""The board on a display on the wall: what it shows, to whom, and what it asks while nothing changes."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from equipment.choices import DocumentKind
from equipment.models import Piece, PieceDocument
from equipment.services.exposures import piece_put_out_of_service
from equipment.services.pieces import DocumentDescription, document_add
from equipment.services.walls import wall_close, wall_open
from equipment.walls import WallDisplay
from shopcool.people.models import User
from tests.equipment.page_text import between, words_of
from tests.equipment.workshop import Workshop
from tests.people_fixtures import SignedIn

WALLS = "/equipment/walls/"


@pytest.fixture
def address(workshop_clock: Workshop) -> str:
    """The address of a display that the owner has let in; the shop has a machine and hoses."""
    workshop_clock.purge(workshop_clock.machine(), workshop_clock.piece("H-1"))
    _display, secret = wall_open(actor=workshop_clock.owner, name="Bay 2", now=workshop_clock.now)
    return reverse("equipment:wall_display", args=[secret])


def torn(workshop: Workshop) -> None:
    piece_id = Piece.objects.get(code="H-1").pk
    piece_put_out_of_service(actor=workshop.owner, piece_id=piece_id, reason="Torn", now=workshop.later())


def certified(workshop: Workshop) -> None:
    description = DocumentDescription(
        kind=DocumentKind.SCALE_CALIBRATION, number="7", body="Board", issued_on=date(2026, 3, 1)
    )
    machine = Piece.objects.get(code="M-1")
    document_add(actor=workshop.owner, piece=machine, description=description, now=workshop.now)


def registered(workshop: Workshop) -> None:
    workshop.piece("H-9")


def connected(workshop: Workshop) -> None:
    workshop.connect(workshop.circuit(), Piece.objects.get(code="H-1"))


def next_day(workshop: Workshop) -> None:
    workshop.now += timedelta(days=1)


def asked_again(address: str, first: Any) -> Any:
    return Client().get(address, headers={"If-None-Match": first.headers["ETag"]})


class TestDisplay:
    def test_shows_the_board_without_anybody_signed_in_and_nothing_to_press(self, address: str) -> None:
        page = Client().get(address)

        words = words_of(page)
        assert "H-1 Piece H-1" in between(words, "Ready for high-voltage jobs 2", "Ready for belt jobs 0")
        assert not re.search(r"<a [^>]*href=\"/(equipment|jobs|vehicles)", page.content.decode())
        assert "<form" not in page.content.decode()

    def test_address_opens_nothing_else(self, address: str) -> None:
        client = Client()
        client.get(address)

        assert client.get("/equipment/").status_code == 302
        assert client.post(address).status_code == 405

    def test_wrong_and_closed_addresses_do_not_exist(self, address: str, workshop_clock: Workshop) -> None:
        display = WallDisplay.objects.get()

        assert Client().get(address[:-2] + "x/").status_code == 404
        wall_close(actor=workshop_clock.owner, display_id=display.pk, now=workshop_clock.now)
        assert Client().get(address).status_code == 404

    def test_secret_is_not_kept(self, address: str) -> None:
        secret = address.rstrip("/").rpartition("/")[2]

        assert secret not in str(WallDisplay.objects.values().get())

    def test_says_what_is_out_tomorrow(self, address: str, workshop_clock: Workshop) -> None:
        today = workshop_clock.now.date()
        PieceDocument.objects.filter(kind="SCALE_CALIBRATION").update(valid_until=today)

        words = words_of(Client().get(address))

        assert "From tomorrow M-1 Scale calibration M-1-SCALE_CALIBRATION of M-1" in words


class TestUnchanged:
    def test_is_answered_without_a_page_in_three_queries(self, address: str) -> None:
        first = Client().get(address)

        with CaptureQueriesContext(connection) as queries:
            again = asked_again(address, first)

        assert again.status_code == 304
        assert again.content == b""
        assert len(queries) <= 3

    @pytest.mark.parametrize("change", [torn, certified, registered, connected, next_day])
    def test_no_longer_holds_after(
        self, address: str, workshop_clock: Workshop, change: Callable[[Workshop], object]
    ) -> None:
        first = Client().get(address)
        assert asked_again(address, first).status_code == 304

        change(workshop_clock)

        assert asked_again(address, first).status_code == 200

    def test_holds_for_a_person_who_shows_the_wall_on_their_screen(
        self, address: str, technician: User, outsider: User, signed_in: SignedIn
    ) -> None:
        browser = signed_in(technician)
        first = browser.get("/equipment/", {"wall": "1"})

        again = browser.get("/equipment/", {"wall": "1"}, headers={"If-None-Match": first.headers["ETag"]})

        assert again.status_code == 304
        assert signed_in(outsider).get("/equipment/", {"wall": "1"}).status_code == 404


class TestLettingIn:
    def test_shows_the_address_once_and_ends_it(
        self, workshop_clock: Workshop, owner: User, signed_in: SignedIn
    ) -> None:
        browser = signed_in(owner)

        made = browser.post(WALLS, {"name": "Bay 2"})
        (address,) = re.findall(r"http://testserver(/wall/[a-z2-9]{24}/)", made.content.decode())
        later = browser.get(WALLS)
        browser.post(reverse("equipment:wall_end", args=[WallDisplay.objects.get().pk]))

        assert "Bay 2" in words_of(later)
        assert address not in later.content.decode()
        assert Client().get(address).status_code == 404

    def test_without_a_place_is_refused_beside_its_field(
        self, workshop_clock: Workshop, owner: User, signed_in: SignedIn
    ) -> None:
        answer = signed_in(owner).post(WALLS, {"name": " "})

        assert answer.status_code == 422
        assert "This field is required." in words_of(answer)
        assert not WallDisplay.objects.exists()

    def test_is_for_owners(
        self, workshop_clock: Workshop, technician: User, outsider: User, signed_in: SignedIn
    ) -> None:
        assert signed_in(technician).post(WALLS, {"name": "Bay 2"}).status_code == 403
        assert signed_in(outsider).get(WALLS).status_code == 404
        assert not WallDisplay.objects.exists()
