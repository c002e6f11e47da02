"""The oil shelf by page and by API: who may, what is refused beside its field, sent twice is done once."""

from __future__ import annotations

from datetime import timedelta
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from equipment.choices import PieceKind
from equipment.models import Piece
from equipment.oil.models import MoveKind, OilLot, OilMove, OilTest
from equipment.oil.stores import store_of_injector, store_of_lot
from shopcool.core.unit_choices import VolumeUnit
from shopcool.people.models import User
from tests.api.test_reading import client_of
from tests.equipment.page_text import words_of
from tests.equipment.workshop import Workshop
from tests.people_fixtures import SignedIn

LOT = {
    "code": "l-7", "lubricant": "POE", "grade": "POE 68", "supplier": "Harbour Lubricants", "batch": "TQ 1",
    "container": "8,45", "container_unit": "US fl oz", "density": "0,96", "density_source": "data sheet",
    "received_on": "2026-03-01", "low": "",
}  # fmt: skip


def address(name: str, *arguments: str) -> str:
    return reverse(f"equipment:{name}", args=arguments)


class TestRights:
    @pytest.mark.parametrize(
        ("name", "arguments", "expected"),
        [
            ("oil_shelf", [], [404, 200, 200, 200]),
            ("oil_lot", ["L-1"], [404, 200, 200, 200]),
            ("oil_lot_new", [], [404, 403, 200, 200]),
            ("oil_measure", ["L-1"], [404, 403, 200, 200]),
            ("oil_bad", ["L-1"], [404, 403, 200, 200]),
            ("fill", ["I-1"], [404, 403, 200, 200]),
            ("injector_waste", ["I-1"], [404, 403, 200, 200]),
            ("injector_replace", ["I-1"], [404, 403, 403, 200]),
            ("fill", ["H-1"], [404, 404, 404, 404]),
        ],
    )
    def test_outsiders_find_nothing_and_colleagues_are_told(
        self,
        workshop_clock: Workshop,
        outsider: User,
        front_desk: User,
        technician: User,
        owner: User,
        signed_in: SignedIn,
        name: str,
        arguments: list[str],
        expected: list[int],
    ) -> None:
        workshop_clock.lot(), workshop_clock.injector(), workshop_clock.piece("H-1")
        people = (outsider, front_desk, technician, owner)

        found = [signed_in(user).get(address(name, *arguments)).status_code for user in people]

        assert found == expected

    def test_front_desk_can_post_nothing(
        self, workshop_clock: Workshop, front_desk: User, signed_in: SignedIn
    ) -> None:
        workshop_clock.lot(), workshop_clock.injector()
        client = signed_in(front_desk)

        for url in (address("oil_lot_new"), address("oil_bad", "L-1"), address("fill", "I-1")):
            assert client.post(url, LOT | {"note": "x", "lot": "L-1", "amount": "5"}).status_code == 403
        assert OilLot.objects.get().bad_at is None
        assert not OilMove.objects.filter(kind=MoveKind.FILLED).exists()


class TestShelf:
    def test_takes_a_lot_once_however_often_it_is_sent(
        self, workshop_clock: Workshop, technician: User, signed_in: SignedIn
    ) -> None:
        client, sent = signed_in(technician), LOT | {"submission_key": str(uuid4())}

        first, second = (client.post(address("oil_lot_new"), sent) for _ in range(2))

        assert (first.status_code, second.status_code) == (302, 302)
        lot = OilLot.objects.get(code="L-7")
        # 8.45 US fl oz of 29.5735 ml (NIST SP 811:2008, appendix B)
        assert lot.container_m3 == pytest.approx(249.896e-6, abs=1e-9)
        assert "250 ml = 240 g" in words_of(client.get(address("oil_shelf")))

    def test_is_told_in_the_unit_of_whoever_reads_it_and_always_in_grams(
        self, workshop_clock: Workshop, technician: User, signed_in: SignedIn
    ) -> None:
        workshop_clock.fill(workshop_clock.injector(), workshop_clock.lot(), "60")
        technician.volume_unit = VolumeUnit.US_FLUID_OUNCE
        technician.save()
        client = signed_in(technician)

        # 190 ml are 6.42, 60 ml 2.03 US fluid ounces of 29.5735 ml (NIST SP 811:2008); 0.96 g/ml
        assert "6.42 US fl oz = 182 g" in words_of(client.get(address("oil_shelf")))
        lot = words_of(client.get(address("oil_lot", "L-1")))
        assert "Left 6.42 US fl oz = 190 ml = 182 g" in lot
        assert "2.03 US fl oz = 58 g" in lot
        assert "6.42 US fl oz left" in words_of(client.get(address("fill", "I-1")))
        refused = client.post(address("fill", "I-1"), {"lot": "L-1", "amount": "9"})
        assert "L-1 holds 6.42 US fl oz; 9.00 US fl oz can't be taken from it." in words_of(refused)

    @pytest.mark.parametrize(
        ("change", "message"),
        [
            ({"density": "9.6"}, "is not plausible: 0.700 g/ml to 1.300 g/ml"),
            ({"density": ""}, "This field is required"),
            ({"container": "8 oz", "container_unit": ""}, "US fl oz"),
            ({"container": "nan"}, "is missing or not a number"),
            ({"container": "1,234"}, "can mean 1.234 or 1234"),
            ({"low": "900 ml"}, "The container never holds as much"),
            ({"received_on": "2026-12-24"}, "later than today"),
            ({"lubricant": "UNKNOWN"}, "Select a valid choice"),
            ({"batch": "B" * 400}, "at most 80 characters"),
            ({"code": "L 7"}, "without spaces"),
            ({"code": "L-1"}, "Another lot has the code L-1"),
        ],
    )
    def test_says_what_is_wrong_and_keeps_what_was_typed(
        self,
        workshop_clock: Workshop,
        technician: User,
        signed_in: SignedIn,
        change: dict[str, str],
        message: str,
    ) -> None:
        workshop_clock.lot()

        response = signed_in(technician).post(address("oil_lot_new"), LOT | change)

        assert response.status_code == 422
        assert message in words_of(response)
        assert 'value="data sheet"' in response.content.decode()
        assert OilLot.objects.count() == 1

    def test_asks_as_many_questions_for_ten_lots_as_for_one(
        self, workshop_clock: Workshop, technician: User, signed_in: SignedIn
    ) -> None:
        client = signed_in(technician)
        workshop_clock.lot("L-0")
        client.get(address("oil_shelf"))
        with CaptureQueriesContext(
            connection,
        ) as one:
            client.get(address("oil_shelf"))
        for number in range(1, 10):
            workshop_clock.lot(f"L-{number}")

        with CaptureQueriesContext(connection) as ten:
            client.get(address("oil_shelf"))

        assert len(ten) == len(one)


class TestLotPage:
    def test_a_vial_test_against_the_oil_stops_the_lot(
        self, workshop_clock: Workshop, technician: User, signed_in: SignedIn
    ) -> None:
        workshop_clock.lot(), workshop_clock.injector()
        client = signed_in(technician)
        vial = {"resistance": "3 MΩ", "mixed": "yes", "nominal_voltage": "500", "other_lot": "> 2.2 GΩ"}

        client.post(address("oil_vial", "L-1"), vial)

        assert OilTest.objects.get().speaks_against
        assert OilLot.objects.get().opened_at == OilTest.objects.get().occurred_at
        assert "The last vial test speaks against L-1" in words_of(client.get(address("oil_lot", "L-1")))
        assert "No lot of POE POE 68 may be used now" in words_of(client.get(address("fill", "I-1")))

    def test_tells_where_the_oil_of_a_bad_lot_went(
        self, workshop_clock: Workshop, technician: User, signed_in: SignedIn
    ) -> None:
        workshop = workshop_clock
        workshop.fill(workshop.injector(), workshop.lot())
        client = signed_in(technician)

        refused = client.post(address("oil_bad", "L-1"), {"note": " "})
        workshop.later()
        client.post(address("oil_bad", "L-1"), {"note": "milky in the glass"})

        assert refused.status_code == 422
        words = words_of(client.get(address("oil_lot", "L-1")))
        assert "L-1 was found bad: milky in the glass. Take another lot." in words
        assert "I-1 Piece I-1" in words
        injector = words_of(client.get(address("piece", "I-1")))
        assert "It has held oil of lot L-1, which was found bad" in injector
        assert "Nobody knows what is inside" in injector

    def test_measures_by_weight_or_volume_but_not_both(
        self, workshop_clock: Workshop, technician: User, signed_in: SignedIn
    ) -> None:
        lot, client = workshop_clock.lot(), signed_in(technician)

        both = client.post(address("oil_measure", "L-1"), {"amount": "200", "weighed": "192"})
        one = client.post(address("oil_measure", "L-1"), {"weighed": "192 g"})

        assert (both.status_code, one.status_code) == (422, 302)
        # 192 g at 0.96 g/ml
        assert float(store_of_lot(lot).volume_m3) == pytest.approx(200e-6)


class TestInjector:
    def test_offers_and_takes_only_lots_of_its_label(
        self, workshop_clock: Workshop, technician: User, signed_in: SignedIn
    ) -> None:
        workshop = workshop_clock
        injector = workshop.injector()
        workshop.lot("L-1"), workshop.lot("L-2", grade="POE 46"), workshop.lot("L-3", lubricant="PAG")
        old = workshop.lot("L-4")
        old.opened_at = workshop.now - timedelta(days=31)
        old.save()
        client = signed_in(technician)

        words = words_of(client.get(address("fill", "I-1")))
        wrong = [
            client.post(address("fill", "I-1"), {"lot": code, "amount": "5"}).status_code
            for code in ("L-2", "L-3", "L-4", "L-9")
        ]
        key = str(uuid4())
        for _ in range(2):
            client.post(address("fill", "I-1"), {"lot": "L-1", "amount": "5", "submission_key": key})

        assert "L-1, batch B-L-1: 250 ml left" in words
        assert "L-2" not in words
        assert wrong == [422, 422, 422, 422]
        assert float(store_of_injector(injector).volume_m3) == pytest.approx(5e-6)

    def test_gets_no_other_label_but_is_replaced_by_a_new_one(
        self, workshop_clock: Workshop, owner: User, signed_in: SignedIn
    ) -> None:
        workshop = workshop_clock
        injector = workshop.injector()
        workshop.fill(injector, workshop.lot(), "20")
        workshop.later()
        new = {
            "code": "I-9", "name": "New one", "refrigerant": "R134A", "lubricant": "PAG",
            "lubricant_grade": "PAG 46", "reason": "needed for the old vans",
        }  # fmt: skip

        missing = signed_in(owner).post(address("injector_replace", "I-1"), new | {"lubricant_grade": ""})
        done = signed_in(owner).post(address("injector_replace", "I-1"), new)

        assert (missing.status_code, done.status_code) == (422, 302)
        injector.refresh_from_db()
        assert injector.retired_at == workshop.now
        assert float(store_of_injector(injector).volume_m3) == 0
        replacement = Piece.objects.get(code="I-9", kind=PieceKind.INJECTOR)
        assert replacement.state.unknown


class TestApi:
    @pytest.fixture(autouse=True)
    def at_the_time_of_the_story(self, workshop: Workshop, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr("equipment.oil.api.now", lambda: workshop.now)

    def test_receives_lists_and_fills_once(self, workshop: Workshop, technician: User) -> None:
        injector, client = workshop.injector(), client_of(technician)
        body = {
            "code": "L-7", "lubricant": "POE", "grade": "POE 68", "supplier": "H", "batch": "1",
            "container": "250 ml", "density": {"value": "0,96", "unit": "g/ml"},
            "density_source": "data sheet", "received_on": "2026-03-01",
        }  # fmt: skip
        fill = {"injector": "I-1", "amount": "40 ml", "submission_key": str(uuid4())}

        created = client.post(reverse("api:oil_lots"), body, format="json")
        url = reverse("api:oil_lot_fill", args=["L-7"])
        filled = [client.post(url, fill, format="json") for _ in range(2)]
        listed = client.get(reverse("api:oil_lots")).json()

        assert created.status_code == 201
        assert [answer.status_code for answer in filled] == [201, 201]
        assert filled[0].json() == filled[1].json()
        assert float(filled[0].json()["mass_kg"]) == pytest.approx(38.4e-3)
        assert listed["results"][0]["left_m3"] == pytest.approx(210e-6)
        assert listed["results"][0]["state"] == "OPEN"
        assert client.get(reverse("api:oil_lot", args=["L-7"])).json()["batch"] == "1"
        assert float(store_of_injector(injector).volume_m3) == pytest.approx(40e-6)

    def test_refuses_the_wrong_class_like_the_pages(self, workshop: Workshop, technician: User) -> None:
        workshop.injector(lubricant="PAG", lubricant_grade="PAG 46"), workshop.lot()
        url = reverse("api:oil_lot_fill", args=["L-1"])

        answer = client_of(technician).post(url, {"injector": "I-1", "amount": "5"}, format="json")

        assert answer.status_code == 400
        assert answer.json()["code"] == "oil_differs"
        assert "No amount of it is acceptable" in answer.json()["fields"]["lot"][0]
        assert not OilMove.objects.filter(kind=MoveKind.FILLED).exists()

    def test_is_closed_to_strangers_and_colleagues_without_the_right(
        self, workshop: Workshop, outsider: User, front_desk: User
    ) -> None:
        workshop.lot(), workshop.injector()
        url, body = reverse("api:oil_lot_fill", args=["L-1"]), {"injector": "I-1", "amount": "5"}

        assert client_of(None).get(reverse("api:oil_lots")).status_code == 401
        assert client_of(outsider).get(reverse("api:oil_lots")).json()["count"] == 0
        assert client_of(outsider).get(reverse("api:oil_lot", args=["L-1"])).status_code == 404
        assert client_of(outsider).post(url, body, format="json").status_code == 404
        assert client_of(front_desk).post(url, body, format="json").status_code == 403
        assert client_of(front_desk).get(reverse("api:oil_lot", args=["L-1"])).status_code == 200
