"""What a hose set holds and how a machine weighs: entered by the owner, by page and API alike."""

from __future__ import annotations

import pytest
from django.urls import reverse
from rest_framework.test import APIClient

from equipment.models import Piece
from shopcool.people.models import User
from tests.equipment.workshop import Workshop
from tests.people_fixtures import SignedIn

HOSES = {"bore": "4.8", "bore_unit": "mm", "length": "2,4", "line_count": "2", "source": "print on the hose"}


@pytest.fixture
def hoses(workshop_clock: Workshop) -> Piece:
    return workshop_clock.piece("H-7")


@pytest.fixture
def machine(workshop_clock: Workshop) -> Piece:
    return workshop_clock.machine()


class TestPage:
    def test_shows_what_was_entered_and_opens_it_again_as_it_was_typed(
        self, signed_in: SignedIn, owner: User, hoses: Piece
    ) -> None:
        client = signed_in(owner)
        address = reverse("equipment:hoses", args=["H-7"])

        assert client.post(address, HOSES).status_code == 302

        # Two lines of π/4 × 4.8² mm² × 2.4 m: 86.9 ml; ± 2 × √((2 × 0.1 / 4.8)² + (0.01 / 2.4)²).
        assert "87 ml ± 7 ml, by bore and length" in client.get("/equipment/H-7/").text
        assert 'value="2,4"' in client.get(address).text

    @pytest.mark.parametrize(
        ("change", "sentence"),
        [
            ({"length": ""}, "Bore and length belong together."),
            ({"source": ""}, "Say how this was found out."),
            ({"bore": "48"}, "is not plausible"),
            ({"bore": "NaN"}, "not a number"),
        ],
    )
    def test_refuses_beside_the_field_and_keeps_what_was_typed(
        self, signed_in: SignedIn, owner: User, hoses: Piece, change: dict[str, str], sentence: str
    ) -> None:
        page = signed_in(owner).post(reverse("equipment:hoses", args=["H-7"]), HOSES | change)

        assert page.status_code == 422
        assert sentence in page.text
        assert Piece.objects.get(code="H-7").bore_m is None


class TestMachine:
    def test_set_up_with_hoses_has_to_be_set_up_again_when_they_change(
        self, signed_in: SignedIn, owner: User, hoses: Piece, machine: Piece
    ) -> None:
        client = signed_in(owner)
        setting = {"tolerance": "10 g", "allowance": "ALLOWS", "allows_for": str(hoses.pk)}
        client.post(reverse("equipment:weighing", args=["M-1"]), setting)
        assert "adds what H-7 keeps" in client.get("/equipment/M-1/").text

        client.post(reverse("equipment:hoses", args=["H-7"]), HOSES)

        assert "set up with no known hose set" in client.get("/equipment/M-1/").text

    def test_that_only_weighs_is_set_up_with_no_hoses(
        self, signed_in: SignedIn, owner: User, hoses: Piece, machine: Piece
    ) -> None:
        setting = {"allowance": "NONE", "allows_for": str(hoses.pk)}

        page = signed_in(owner).post(reverse("equipment:weighing", args=["M-1"]), setting)

        assert "Only a machine that adds" in page.text


class TestApi:
    def test_enters_the_same_and_answers_with_what_was_typed_in_si(
        self, owner: User, hoses: Piece, machine: Piece
    ) -> None:
        client = APIClient()
        client.force_authenticate(owner)
        hose_door, machine_door = (
            reverse("api:piece_hoses", args=["H-7"]),
            reverse("api:piece_weighing", args=["M-1"]),
        )

        entered = client.put(hose_door, {"content": "34 ml", "source": "weighed"}, format="json")
        weighs = client.put(machine_door, {"allowance": "ALLOWS", "allows_for": "H-7"}, format="json")

        assert entered.json()["content_m3"] == pytest.approx(34e-6)
        assert weighs.json()["allows_for"] == "H-7"

    def test_refuses_as_the_page_does(self, owner: User, technician: User, hoses: Piece) -> None:
        client, colleague = APIClient(), APIClient()
        client.force_authenticate(owner)
        colleague.force_authenticate(technician)
        address = reverse("api:piece_hoses", args=["H-7"])

        refused = client.put(address, {"bore": "4.8 mm", "source": "print"}, format="json")

        assert refused.status_code == 400
        assert "Bore and length belong together." in str(refused.json())
        assert colleague.put(address, {}, format="json").status_code == 403
