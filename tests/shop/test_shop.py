"""The workshop's settings: the owner's, within limits, in one row."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, time
from typing import Any

import pytest
from django.test import Client

from shopcool.core.actors import PreferredUnits
from shopcool.core.errors import DomainError, NotAllowed
from shopcool.engineering.quantities import Kind
from shopcool.people.models import User
from shopcool.shop.forms import ShopForm, shop_initial
from shopcool.shop.models import Shop
from shopcool.shop.notices import place_notices
from shopcool.shop.selectors import atmosphere_pa, shop_get
from shopcool.shop.services import Settings, shop_update
from shopcool.shop.units import units_for
from tests.people_fixtures import SignedIn
from tests.sending import as_sent

WORKSHOP = Settings(
    name="Harbour Street Workshop",
    address="Harbour Street 4",
    time_zone="Europe/Berlin",
    altitude_m=120.0,
    barometer_pa=None,
    pressure_unit="bar",
    temperature_unit="°C",
    mass_unit="g",
    volume_unit="ml",
    jurisdiction="EU",
    high_voltage_wait_minutes=10,
    glove_check_required=True,
    minimum_purity=0.98,
    maximum_hydrocarbon=0.02,
    maximum_air=0.02,
    next_service_months=24,
    reminders_at=time(7, 30),
    reminder_days=(7, 30, 7),
    equipment_keeper_id=None,
)
TYPED: dict[str, Any] = {
    "name": "Harbour Street Workshop",
    "address": "",
    "time_zone": "America/Denver",
    "jurisdiction": "US",
    "altitude": "5280",
    "altitude_unit": "ft",
    "barometer": "",
    "barometer_unit": "hPa",
    "pressure_unit": "psi",
    "temperature_unit": "°F",
    "mass_unit": "oz",
    "volume_unit": "US fl oz",
    "high_voltage_wait_minutes": "15",
    "glove_check_required": "on",
    "minimum_purity": "98",
    "maximum_hydrocarbon": "2",
    "maximum_air": "1,5",
    "next_service_months": "12",
    "reminder_days": "14; 60,3",
    "reminders_at": "06:15",
    "equipment_keeper": "",
    "purge_minimum_kg": "500",
    "purge_minimum_s": "5",
    "purge_maximum_vacuum_pa": "20 mbar",
    "purge_note": "own trials with a rinsed hose",
    "carry_oil_kg": "1,5",
    "carry_volume_m3": "60",
    "carry_mixing": "30",
    "glove_test_months": "6",
    "insulation_like_k": "10",
    "oil_open_days": "21",
    "oil_low_m3": "0,25 l",
}


class TestShopUpdate:
    def test_changes_the_one_row(self, owner: User, now: datetime) -> None:
        shop_update(actor=owner.as_actor(), settings=WORKSHOP, now=now)

        assert Shop.objects.count() == 1
        assert shop_get().name == "Harbour Street Workshop"

    @pytest.mark.parametrize("who", ["technician", "front_desk", "outsider"])
    def test_is_refused_to_anyone_but_an_owner(
        self, who: str, request: pytest.FixtureRequest, now: datetime
    ) -> None:
        user: User = request.getfixturevalue(who)

        with pytest.raises(NotAllowed, match="You may not do this"):
            shop_update(actor=user.as_actor(), settings=WORKSHOP, now=now)

    @pytest.mark.parametrize(
        ("wrong", "field", "sentence"),
        [
            ({"name": "  "}, "name", "name of 1 to 120 characters"),
            ({"name": "x" * 400}, "name", "name of 1 to 120 characters"),
            ({"time_zone": "Mars/Olympus"}, "time_zone", "“Mars/Olympus” is no time zone"),
            ({"altitude_m": 9000.0}, "altitude", "9000 m is not one of a workshop"),
            ({"altitude_m": float("nan")}, "altitude", "missing or not a number"),
            ({"barometer_pa": 1013.0}, "barometer", r"hPa entered as Pa\?"),
            ({"barometer_pa": float("inf")}, "barometer", "missing or not a number"),
            ({"pressure_unit": "stone"}, "pressure_unit", "“stone” is not known here"),
            ({"minimum_purity": 98.0}, "minimum_purity", "Between 0.5 and 1, please"),
            ({"maximum_air": -0.1}, "maximum_air", "Between 0 and 0.5, please"),
            ({"high_voltage_wait_minutes": 999}, "high_voltage_wait_minutes", "Between 0 and 240"),
            ({"next_service_months": 0}, "next_service_months", "Between 1 and 120"),
            ({"purge_minimum_kg": 0.2}, "purge_minimum_kg", "Between 0.3 and 20"),
            ({"purge_maximum_vacuum_pa": 2e4}, "purge_maximum_vacuum_pa", "Between 20 and 10000"),
            ({"purge_minimum_s": 600.0}, "purge_note", "Say why a purge must show more"),
            ({"glove_test_months": 7}, "glove_test_months", "Between 1 and 6"),
            ({"reminder_days": (400,)}, "reminder_days", "days between 1 and 365"),
            ({"reminder_days": (1, 2, 3, 4, 5, 6)}, "reminder_days", "Up to 5 numbers"),
            ({"equipment_keeper_id": 0}, "equipment_keeper", "somebody who works here"),
        ],
    )
    def test_refuses_what_no_workshop_has(
        self, owner: User, now: datetime, wrong: dict[str, Any], field: str, sentence: str
    ) -> None:
        before = shop_get().name

        with pytest.raises(DomainError, match=sentence) as refused:
            shop_update(actor=owner.as_actor(), settings=replace(WORKSHOP, **wrong), now=now)
        assert refused.value.field == field
        assert shop_get().name == before


class TestAirPressure:
    # ISO 2533:1975, table 5: 845.6 hPa at 1500 m geometric altitude.
    def test_comes_from_the_altitude_without_a_barometer(self) -> None:
        assert atmosphere_pa(Shop(altitude_m=1500.0)) == pytest.approx(84_560, abs=10)

    def test_comes_from_the_barometer_where_there_is_one(self) -> None:
        assert atmosphere_pa(Shop(altitude_m=1500.0, barometer_pa=84_100.0)) == 84_100.0

    def test_warns_of_a_value_reduced_to_sea_level(self) -> None:
        (notice,) = place_notices(Shop(altitude_m=1500.0, barometer_pa=101_300.0))

        assert "At 1500 m the air usually has 846 hPa, the barometer says 1013 hPa" in notice.message

    @pytest.mark.parametrize("barometer_pa", [None, 84_560.0, 81_500.0, 87_500.0])
    def test_takes_weather_for_weather(self, barometer_pa: float | None) -> None:
        assert place_notices(Shop(altitude_m=1500.0, barometer_pa=barometer_pa)) == []


class TestUnits:
    def test_are_the_shops_own(self) -> None:
        units = units_for(Shop(pressure_unit="psi", mass_unit="oz"))

        assert units.of_kind(Kind.PRESSURE) == "psi"
        assert units.of_kind(Kind.RESISTANCE) == "MΩ"
        assert units.shown(0.55, Kind.MASS) == "19.40 oz"

    def test_are_a_persons_where_they_prefer_some(self) -> None:
        units = units_for(Shop(pressure_unit="psi", mass_unit="oz"), PreferredUnits(mass="g"))

        assert (units.pressure, units.mass) == ("psi", "g")
        assert (units.metric.pressure, units.metric.mass) == ("bar", "g")

    def test_read_gauges_against_the_air_of_the_workshop(self) -> None:
        """ISO 2533 (standard atmosphere), 1500 m: 845.6 hPa."""
        units = units_for(Shop(altitude_m=1500.0))

        assert units.shown(84_556.0 + 2e5, Kind.PRESSURE) == "2.00 bar(g)"


class TestSettingsPage:
    def test_reads_units_and_keeps_si(self, owner: User, signed_in: SignedIn) -> None:
        answer = signed_in(owner).post("/shop/", TYPED)

        shop = shop_get()
        assert answer.headers["Location"] == "/shop/"
        # NIST SP 811:2008: 1 ft = 0.3048 m, exact.
        assert shop.altitude_m == pytest.approx(1609.344)
        assert (shop.maximum_air, shop.minimum_purity) == (pytest.approx(0.015), pytest.approx(0.98))
        assert shop.barometer_pa is None
        assert (shop.oil_open_days, shop.oil_low_m3) == (21, pytest.approx(250e-6))
        assert (shop.reminder_days, shop.reminders_at) == ([60, 14, 3], time(6, 15))

    @pytest.mark.parametrize("typed", ["a month", "-7", "7.5", "٧", "7" * 39])
    def test_refuses_days_ahead_that_are_no_days(self, owner: User, signed_in: SignedIn, typed: str) -> None:
        answer = signed_in(owner).post("/shop/", {**TYPED, "reminder_days": typed})

        assert (
            "Whole numbers of days with commas between" in answer.context["form"].errors["reminder_days"][0]
        )
        assert f'value="{typed}"' in answer.content.decode()

    def test_reads_a_barometer_in_inches_of_mercury(self, owner: User, signed_in: SignedIn) -> None:
        signed_in(owner).post("/shop/", {**TYPED, "barometer": "24.9 inHg abs"})

        # NIST SP 811:2008: 1 conventional inch of mercury (0 °C) = 3386.389 Pa.
        assert shop_get().barometer_pa == pytest.approx(84_321.1, abs=0.1)

    @pytest.mark.parametrize("typed", ["1013 Pa", "101300", "10,13", "NaN", "1e400"])
    def test_refuses_a_barometer_in_the_wrong_unit_and_keeps_what_was_typed(
        self, owner: User, signed_in: SignedIn, typed: str
    ) -> None:
        answer = signed_in(owner).post("/shop/", {**TYPED, "barometer": typed})

        assert answer.status_code == 422
        assert list(answer.context["form"].errors) == ["barometer"]
        assert f'value="{typed}"' in answer.content.decode()
        assert Shop.objects.filter(name="Harbour Street Workshop").count() == 0

    def test_says_the_limits_of_a_barometer(self, owner: User, signed_in: SignedIn) -> None:
        answer = signed_in(owner).post("/shop/", {**TYPED, "barometer": "1013 Pa"})

        assert answer.context["form"].errors["barometer"] == [
            "“1013 Pa” is not plausible: 500.0 hPa to 1100.0 hPa. Check number and unit."
        ]

    def test_comes_back_as_it_was_entered(self, owner: User, signed_in: SignedIn, now: datetime) -> None:
        shop_update(actor=owner.as_actor(), settings=WORKSHOP, now=now)
        initial = shop_initial(shop_get())
        form = ShopForm(initial=initial)

        assert 'value="98"' in str(form["minimum_purity"])
        assert 'value="120"' in str(form["altitude"])
        assert 'value=""' not in str(form["barometer"])
        assert 'value="30, 7"' in str(form["reminder_days"])
        assert 'value="07:30"' in str(form["reminders_at"])

    def test_opened_and_saved_twenty_times_keeps_every_bit(self, owner: User, signed_in: SignedIn) -> None:
        client = signed_in(owner)
        client.post("/shop/", {**TYPED, "altitude": "5281.7", "barometer": "24.93 inHg abs"})
        first = Shop.objects.values().get()

        for _time in range(20):
            assert client.post("/shop/", as_sent(client.get("/shop/").context["form"])).status_code == 302

        assert Shop.objects.values().get() == first

    @pytest.mark.parametrize(
        ("who", "status"), [("owner", 200), ("technician", 403), ("front_desk", 403), ("outsider", 403)]
    )
    def test_is_the_owners(
        self, who: str, status: int, request: pytest.FixtureRequest, signed_in: SignedIn
    ) -> None:
        client = signed_in(request.getfixturevalue(who))

        assert client.get("/shop/").status_code == status
        assert client.post("/shop/", TYPED).status_code == (302 if status == 200 else status)

    def test_asks_a_stranger_to_sign_in(self, client: Client, db: None) -> None:
        assert client.get("/shop/").headers["Location"] == "/sign-in/?next=/shop/"
