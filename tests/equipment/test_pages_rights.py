"""Who may open and do what on the equipment pages: outsiders find nothing, colleagues are told."""

from __future__ import annotations

from uuid import uuid4

import pytest
from django.urls import reverse

from equipment.choices import PieceKind
from equipment.exposure import Residue
from equipment.incidents import Incident
from equipment.models import Exposure, Piece, PieceDocument, Purge
from equipment.services.exposures import contact_declare, piece_put_out_of_service
from shopcool.people.models import User
from tests.equipment.workshop import Workshop
from tests.people_fixtures import SignedIn

People = dict[str, User]
NOTE = {"note": "Seen at the bench"}
DOCUMENT = {
    "kind": "CERTIFICATE",
    "number": "1",
    "body": "Board",
    "issued_on": "2026-01-01",
    "refrigerants": "R134A",
}


@pytest.fixture
def people(outsider: User, front_desk: User, technician: User, owner: User) -> People:
    """The four standing people by what they are."""
    return {"outsider": outsider, "front desk": front_desk, "technician": technician, "owner": owner}


@pytest.fixture
def incident(workshop_clock: Workshop) -> Incident:
    """An open incident, raised by an override with a piece that nobody knows."""
    workshop = workshop_clock
    hoses = workshop.piece("H-7")
    workshop.connect(workshop.circuit(), hoses, actor=workshop.owner, override_reason="Going to be scrapped")
    workshop.disconnect()
    return Incident.objects.get()


def statuses(people: People, signed_in: SignedIn, address: str) -> list[int]:
    return [signed_in(user).get(address).status_code for user in people.values()]


class TestLooking:
    @pytest.mark.parametrize(
        ("name", "arguments", "expected"),
        [
            ("board", [], [404, 200, 200, 200]),
            ("piece", ["H-7"], [404, 200, 200, 200]),
            ("incidents", [], [404, 403, 200, 200]),
            ("overrides", [], [404, 403, 200, 200]),
            ("register", [], [404, 403, 403, 200]),
            ("purge", [], [404, 403, 200, 200]),
            ("contact", ["H-7"], [404, 403, 200, 200]),
            ("pump-oil", ["H-7"], [404, 403, 200, 200]),
            ("came-back", ["H-7"], [404, 403, 200, 200]),
            ("out-of-service", ["H-7"], [404, 200, 200, 200]),
            ("inspect", ["H-7"], [404, 403, 403, 200]),
            ("document", ["H-7"], [404, 403, 403, 200]),
            ("hoses", ["H-7"], [404, 403, 403, 200]),
            ("weighing", ["H-7"], [404, 404, 404, 404]),
            ("return", ["H-7"], [404, 403, 403, 200]),
            ("retire", ["H-7"], [404, 403, 403, 200]),
        ],
    )
    def test_is_404_for_outsiders_and_403_without_the_right(
        self,
        people: People,
        signed_in: SignedIn,
        incident: Incident,
        name: str,
        arguments: list[str],
        expected: list[int],
    ) -> None:
        address = reverse(f"equipment:{name}", args=arguments)

        assert statuses(people, signed_in, address) == expected

    def test_of_an_incident_and_of_a_purge(
        self, people: People, signed_in: SignedIn, incident: Incident, workshop_clock: Workshop
    ) -> None:
        purge = workshop_clock.purge(workshop_clock.machine()).purge
        incident_page = reverse("equipment:incident", args=[incident.pk])
        purge_page = reverse("equipment:purge_detail", args=[purge.pk])

        assert statuses(people, signed_in, incident_page) == [404, 403, 200, 200]
        assert statuses(people, signed_in, purge_page) == [404, 200, 200, 200]

    def test_of_what_does_not_exist_is_404_for_everybody(self, people: People, signed_in: SignedIn) -> None:
        assert statuses(people, signed_in, reverse("equipment:piece", args=["Z-99"])) == [404] * 4
        assert statuses(people, signed_in, reverse("equipment:purge_detail", args=[99])) == [404] * 4

    def test_asks_a_stranger_to_sign_in(self, client: object, db: None) -> None:
        response = client.get(reverse("equipment:board"))  # type: ignore[attr-defined]

        assert response.status_code == 302
        assert response["Location"].startswith(reverse("people:sign_in"))


class TestDoing:
    @pytest.mark.parametrize(
        ("name", "data", "expected"),
        [
            ("contact", {**NOTE, "lubricants": "PAG"}, [404, 403, 302, 302]),
            ("pump-oil", {}, [404, 403, 302, 302]),
            ("came-back", NOTE, [404, 403, 302, 302]),
            ("out-of-service", NOTE, [404, 302, 302, 302]),
            ("return", NOTE, [404, 403, 403, 302]),
            ("inspect", {**NOTE, "finding": "CLEAN"}, [404, 403, 403, 302]),
            ("document", DOCUMENT, [404, 403, 403, 302]),
            ("retire", {"reason": "Worn out"}, [404, 403, 403, 302]),
        ],
    )
    def test_something_with_a_piece_writes_nothing_without_the_right(
        self,
        people: People,
        signed_in: SignedIn,
        workshop_clock: Workshop,
        name: str,
        data: dict[str, str],
        expected: list[int],
    ) -> None:
        workshop_clock.piece("H-1")
        address = reverse(f"equipment:{name}", args=["H-1"])

        found = []
        for user in people.values():
            workshop_clock.later()
            before = _rows()
            found.append(signed_in(user).post(address, data).status_code)
            assert (_rows() > before) == (found[-1] == 302)

        assert found == expected

    def test_withdrawing_needs_the_owner(
        self, people: People, signed_in: SignedIn, workshop_clock: Workshop
    ) -> None:
        hoses = workshop_clock.piece("H-1")
        wrong = contact_declare(
            actor=workshop_clock.technician, piece_id=hoses.pk, occurred_at=workshop_clock.now,
            now=workshop_clock.later(), residue=Residue(unknown=True), note="Wrong piece",
        ).exposure  # fmt: skip
        address = reverse("equipment:withdraw", args=["H-1", wrong.sequence])
        workshop_clock.later()

        found = [signed_in(user).post(address, NOTE).status_code for user in people.values()]

        assert found == [404, 403, 403, 302]
        assert Exposure.objects.filter(corrects=wrong).count() == 1

    def test_closing_an_incident_needs_the_owner(
        self, people: People, signed_in: SignedIn, incident: Incident
    ) -> None:
        address = reverse("equipment:incident", args=[incident.pk])
        data = {"resolution": "Scrapped", "circuit_is_clean": "no"}

        found = [signed_in(user).post(address, data).status_code for user in people.values()]

        assert found == [404, 403, 403, 302]

    def test_registering_needs_the_owner(
        self, people: People, signed_in: SignedIn, workshop_clock: Workshop
    ) -> None:
        address = f"{reverse('equipment:register')}?kind={PieceKind.ADAPTER.value}"

        found = [
            signed_in(user).post(address, {"code": f"A-{index}", "name": "Adapter"}).status_code
            for index, user in enumerate(people.values())
        ]

        assert found == [404, 403, 403, 302]
        assert [piece.code for piece in Piece.objects.all()] == ["A-3"]

    def test_purging_needs_a_technician_or_the_owner(
        self, people: People, signed_in: SignedIn, workshop_clock: Workshop
    ) -> None:
        machine = workshop_clock.machine()
        found = []
        for user in people.values():
            workshop_clock.later()
            data = {"machine": machine.pk, "completed": "no", "submission_key": uuid4()}
            found.append(signed_in(user).post(reverse("equipment:purge"), data).status_code)

        assert found == [404, 403, 302, 302]
        assert Purge.objects.count() == 2


class TestOffers:
    """The page of a piece offers exactly what its address would allow."""

    @pytest.mark.parametrize(
        ("role", "offered"),
        [
            ("front desk", ["out-of-service"]),
            ("technician", ["contact", "pump-oil", "came-back", "out-of-service"]),
            (
                "owner",
                ["contact", "pump-oil", "came-back", "inspect", "document", "out-of-service", "retire"],
            ),
        ],
    )
    def test_depend_on_the_person(
        self,
        people: People,
        signed_in: SignedIn,
        workshop_clock: Workshop,
        role: str,
        offered: list[str],
    ) -> None:
        workshop_clock.piece("H-1")

        page = signed_in(people[role]).get(reverse("equipment:piece", args=["H-1"])).content.decode()

        names = [
            "contact",
            "pump-oil",
            "came-back",
            "inspect",
            "document",
            "out-of-service",
            "return",
            "retire",
        ]
        assert [name for name in names if f'/equipment/H-1/{name}/"' in page] == offered

    def test_depend_on_whether_the_piece_is_in_service(
        self, people: People, signed_in: SignedIn, workshop_clock: Workshop
    ) -> None:
        hoses = workshop_clock.piece("H-1")
        piece_put_out_of_service(
            actor=workshop_clock.owner, piece_id=hoses.pk, reason="Torn", now=workshop_clock.later()
        )

        page = signed_in(people["owner"]).get(reverse("equipment:piece", args=["H-1"])).content.decode()

        assert reverse("equipment:return", args=["H-1"]) in page
        assert reverse("equipment:out-of-service", args=["H-1"]) not in page


def _rows() -> int:
    retired = Piece.objects.filter(retired_at__isnull=False).count()
    return Exposure.objects.count() + PieceDocument.objects.count() + retired
