"""The code of a label, read beside a car: who gets where, and what is offered there."""

from __future__ import annotations

from typing import Any
from urllib.parse import quote

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from equipment.choices import PieceKind
from equipment.exposure import Residue
from equipment.models import Piece
from equipment.services.exposures import piece_inspect
from equipment.services.pieces import piece_retire
from jobs.choices import StepKind
from jobs.pages.ways import step_url
from shopcool.people.models import User
from tests.jobs.bay import BEFORE_CONNECTION, Bay
from tests.jobs.browser import Tablet, links, words
from tests.people_fixtures import PASSWORD


def scan_of(piece: Piece) -> str:
    return reverse("jobs:scan", args=[piece.public_id])


class TestOpening:
    def test_a_code_asks_a_stranger_to_sign_in_and_then_leads_on(self, bay: Bay, technician: User) -> None:
        browser, wanted = Client(), scan_of(bay.hoses)

        asked = browser.get(wanted)
        signed_in = browser.post(asked["Location"], {"username": technician.username, "password": PASSWORD})

        assert asked["Location"] == f"{reverse('people:sign_in')}?next={quote(wanted)}"
        assert signed_in["Location"] == wanted

    def test_a_code_shows_nothing_to_outsiders_and_unknown_codes_to_nobody(
        self, bay: Bay, outsider_tablet: Tablet, technician_tablet: Tablet
    ) -> None:
        outsider_tablet.open(scan_of(bay.hoses), status=404)
        technician_tablet.open("/p/zzzzzzzzzz", status=404)

    def test_a_code_shows_the_page_of_the_piece_when_no_car_is_being_worked_on(
        self, bay: Bay, technician_tablet: Tablet
    ) -> None:
        answer = technician_tablet.client.get(scan_of(bay.hoses))

        assert answer["Location"] == reverse("equipment:piece", args=["H-1"])

    def test_a_code_shows_the_page_of_the_piece_to_who_can_connect_nothing_and_for_a_retired_piece(
        self, bay: Bay, desk_tablet: Tablet, technician_tablet: Tablet
    ) -> None:
        bay.checked_in()
        piece_retire(actor=bay.workshop.owner, piece=bay.hoses, reason="Torn", now=bay.workshop.later())

        for tablet, piece in ((desk_tablet, bay.machine), (technician_tablet, bay.hoses)):
            answer = tablet.client.get(scan_of(piece))

            assert answer["Location"] == reverse("equipment:piece", args=[piece.code])


class TestOffers:
    def test_a_clear_piece_to_be_connected_with_the_piece_ticked(
        self, bay: Bay, technician_tablet: Tablet
    ) -> None:
        bay.checked_in()
        for kind in BEFORE_CONNECTION:
            bay.record(kind)
        page = technician_tablet.open(scan_of(bay.hoses))
        panel = f"{step_url(bay.job.number, StepKind.CONNECTION)}?pieces={bay.hoses.pk}"

        assert f"Connect to {bay.job.circuit.vehicle.registration}" in words(page)
        assert panel in links(page)
        form = technician_tablet.form(
            technician_tablet.open(panel), step_url(bay.job.number, StepKind.CONNECTION)
        )
        assert form["pieces"] == [str(bay.hoses.pk)]

    def test_a_piece_of_unknown_residue_for_the_purge_loop_first_with_the_reason(
        self, bay: Bay, technician_tablet: Tablet
    ) -> None:
        bay.checked_in()
        glass = bay.sight_glass()

        page = technician_tablet.open(scan_of(glass))

        (purge,) = [link for link in links(page) if link.startswith(reverse("equipment:purge"))]
        assert "Refused" in words(page)
        assert "Run a line purge with S-1 in the loop." in words(page)
        assert f"pieces={glass.pk}" in purge
        assert "Connect to" not in words(page)
        tapped = technician_tablet.form(technician_tablet.open(purge), "")
        assert str(glass.pk) in tapped["pieces"]

    def test_an_injector_for_the_oil_step_once_the_car_was_cleared_for_it(
        self, bay: Bay, technician_tablet: Tablet
    ) -> None:
        injector = bay.workshop.piece(
            "I-1", PieceKind.INJECTOR, refrigerant="R1234YF", lubricant="POE", lubricant_grade="POE 68"
        )
        seen = bay.workshop.later()
        piece_inspect(
            actor=bay.workshop.owner, piece_id=injector.pk, residue=Residue(), note="New", occurred_at=seen,
            now=seen,
        )  # fmt: skip
        bay.up_to(StepKind.EVACUATION)
        before = technician_tablet.open(scan_of(injector))
        assert bay.connect(injector).connected

        page = technician_tablet.open(scan_of(injector))

        (oil,) = [link for link in links(page) if step_url(bay.job.number, StepKind.OIL) in link]
        form = technician_tablet.form(technician_tablet.open(oil), step_url(bay.job.number, StepKind.OIL))
        assert (form["added"], form["way"], form["injector"]) == ("yes", "INJECTOR", str(injector.pk))
        assert "Use this injector" not in words(before)

    def test_the_car_at_hand_first(self, bay: Bay, technician_tablet: Tablet) -> None:
        bay.checked_in()
        other = bay.again()
        technician_tablet.job(other.job)

        page = words(technician_tablet.open(scan_of(bay.hoses)))

        assert page.count("At hand") == 1
        assert page.index("At hand") < page.rindex(bay.job.circuit.vehicle.registration)

    def test_with_a_number_of_queries_that_does_not_grow_with_the_cars(
        self, bay: Bay, technician_tablet: Tablet
    ) -> None:
        bay.checked_in()

        def queries() -> int:
            with CaptureQueriesContext(
                connection,
            ) as counted:
                technician_tablet.open(scan_of(bay.hoses))
            return len(counted)

        queries()
        one = queries()
        bay.again()
        bay.again()

        assert queries() == one


class TestSearch:
    @pytest.mark.parametrize("read", ["https://shop.example/p/{}", "{}", "  {} "])
    def test_follows_a_code_that_a_reader_typed_into_it(
        self, bay: Bay, technician_tablet: Tablet, read: str
    ) -> None:
        query: dict[str, Any] = {"q": read.format(bay.hoses.public_id)}

        answer = technician_tablet.client.get(reverse("jobs:search"), query)

        assert answer["Location"] == scan_of(bay.hoses)

    def test_finds_by_words_what_only_looks_like_a_code(self, bay: Bay, technician_tablet: Tablet) -> None:
        technician_tablet.open(f"{reverse('jobs:search')}?q=zzzzzzzzzz")
