"""What the oil shelf brings to mind: open containers to be used up, and grades that run low."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from equipment.due import DueItem, DueKind
from equipment.due_selectors import due_items
from equipment.oil.errors import LotInvalid
from equipment.oil.lots import oil_lot_level_set, oil_lot_open, oil_waste
from equipment.oil.models import OilLot
from equipment.pages.due_list import due_list
from shopcool.core.errors import NotAllowed
from shopcool.engineering.quantities import Kind, Quantity, parse
from shopcool.people.models import User
from shopcool.shop.models import Shop
from shopcool.shop.selectors import shop_get
from shopcool.vehicles.choices import Lubricant
from tests.equipment.workshop import Workshop
from tests.people_fixtures import SignedIn

pytestmark = pytest.mark.django_db


def ml(typed: str) -> Quantity:
    return parse(typed, Kind.VOLUME, default_unit="ml")


def opened(workshop: Workshop, days_ago: int, **values: Any) -> OilLot:
    """Return a lot that was opened so many days ago."""
    lot = workshop.lot(**values)
    moment = workshop.now - timedelta(days=days_ago)
    return oil_lot_open(actor=workshop.technician, lot=lot, opened_at=moment, now=workshop.now)


def due(workshop: Workshop, days: int = 30) -> list[DueItem]:
    today = workshop.now.date()
    return due_items(today=today, until=today + timedelta(days=days))


def wasted(workshop: Workshop, lot: OilLot, amount: Quantity | None = None) -> None:
    oil_waste(actor=workshop.technician, held=lot, amount=amount, reason="old", now=workshop.later())


class TestOpenContainer:
    @pytest.mark.parametrize(("days_ago", "in_days"), [(0, 30), (23, 7), (30, 0), (31, -1)])
    def test_is_due_on_the_last_day_that_it_may_stand_open(
        self, workshop: Workshop, days_ago: int, in_days: int
    ) -> None:
        lot = opened(workshop, days_ago)

        (item,) = due(workshop)

        assert (item.key, item.kind, item.what) == (f"lot:{lot.pk}", DueKind.OIL, "Using up L-1 POE 68")
        assert (item.due_on - workshop.now.date()).days == in_days
        assert (item.blocks, item.lot_code, item.most_days_ahead) == (True, "L-1", 7)

    def test_goes_by_the_limit_of_the_workshop(self, workshop: Workshop) -> None:
        opened(workshop, 0)
        Shop.objects.update(oil_open_days=14)

        assert [(item.due_on - workshop.now.date()).days for item in due(workshop)] == [14]

    def test_is_not_due_while_sealed_when_used_up_or_of_oil_that_draws_no_moisture(
        self, workshop: Workshop
    ) -> None:
        workshop.lot("L-2")
        opened(workshop, 90, code="L-3", lubricant=Lubricant.PAO, grade="PAO 68")
        wasted(workshop, opened(workshop, 90, code="L-4"))

        assert due(workshop) == []


class TestLowStock:
    def test_is_due_from_the_day_on_which_no_more_than_the_level_is_left(self, workshop: Workshop) -> None:
        lot = workshop.lot(low=ml("100"))
        wasted(workshop, lot, ml("149"))
        assert due(workshop) == []

        wasted(workshop, lot, ml("1"))

        (item,) = due(workshop, 0)
        assert (item.key, item.what) == ("oil:POE:poe68", "Next container of POE 68")
        assert (item.due_on, item.blocks) == (workshop.now.date(), False)

    def test_counts_every_container_of_the_grade_however_it_is_spelt(self, workshop: Workshop) -> None:
        wasted(workshop, workshop.lot("L-1", low=ml("100")), ml("200"))

        workshop.lot("L-2", grade="poe  68", low=ml("100"))

        assert due(workshop) == []

    def test_counts_no_oil_that_may_not_be_used(self, workshop: Workshop) -> None:
        old = opened(workshop, 31, code="L-1", low=ml("100"))

        keys = {item.key for item in due(workshop)}

        assert keys == {f"lot:{old.pk}", "oil:POE:poe68"}

    def test_goes_by_the_level_of_the_newest_container(self, workshop: Workshop) -> None:
        wasted(workshop, workshop.lot("L-1", low=ml("200")), ml("250"))
        newest = workshop.lot("L-2", millilitres="150", low=ml("100"))
        assert due(workshop) == []

        wasted(workshop, newest)
        assert [item.lot_code for item in due(workshop)] == ["L-2"]
        oil_lot_level_set(actor=workshop.technician, lot=newest, low=None, now=workshop.now)
        assert due(workshop) == []

    def test_level_is_set_by_those_who_handle_oil_and_below_the_container(
        self, workshop: Workshop, front_desk: User
    ) -> None:
        lot = workshop.lot()

        with pytest.raises(LotInvalid, match="never holds as much"):
            oil_lot_level_set(actor=workshop.technician, lot=lot, low=ml("251"), now=workshop.now)
        with pytest.raises(NotAllowed, match="You may not do this"):
            oil_lot_level_set(actor=front_desk.as_actor(), lot=lot, low=ml("1"), now=workshop.now)


class TestPages:
    def test_due_list_leads_to_the_lot_and_to_what_can_be_done(self, workshop: Workshop) -> None:
        opened(workshop, 31, low=ml("100"))

        page = due_list(workshop.technician, workshop.now.date(), kind="OIL", words="l-1")

        rows = [row for section in page.sections for row in section.rows]
        assert [(row.what, row.late, row.act, row.act_url) for row in rows] == [
            ("Using up L-1 POE 68", "may not be used", "Take out as waste", "/equipment/oil/L-1/waste/"),
            ("Next container of POE 68", "", "Put a lot on the shelf", "/equipment/oil/new/"),
        ]
        assert {row.url for row in rows} == {"/equipment/oil/L-1/"}

    def test_level_is_changed_on_the_page_of_the_lot(
        self, workshop: Workshop, technician: User, signed_in: SignedIn
    ) -> None:
        workshop.lot()

        tablet, address = signed_in(technician), "/equipment/oil/L-1/level/"

        wrong = tablet.post(address, {"low": "a lot"})
        right = tablet.post(address, {"low": "0,1 l"})

        assert (wrong.status_code, right.status_code) == (422, 302)
        assert OilLot.objects.get().low_m3 == pytest.approx(100e-6)
        assert 'value="0,1' in tablet.get(address).content.decode()

    def test_a_new_lot_is_offered_the_level_of_the_workshop(
        self, workshop: Workshop, technician: User, signed_in: SignedIn
    ) -> None:
        shop_get()
        Shop.objects.update(oil_low_m3=200 * 1e-6)

        page = signed_in(technician).get("/equipment/oil/new/").content.decode()

        assert 'name="low" value="200"' in page
