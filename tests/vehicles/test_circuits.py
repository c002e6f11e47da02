"""Circuits: label data with who entered them, kept for ever; unknown says what needs it."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction

from shopcool.core.errors import DomainError, NotAllowed
from shopcool.core.records import chain_breaks
from shopcool.engineering.quantities import Kind, parse
from shopcool.people.models import User
from shopcool.vehicles.choices import Drive, Lubricant, Refrigerant
from shopcool.vehicles.data import CircuitData
from shopcool.vehicles.label import parse_label_charge
from shopcool.vehicles.models import Circuit, CircuitEntry
from shopcool.vehicles.notices import circuit_notices, missing_data
from shopcool.vehicles.services.circuits import CircuitKnown, circuit_create, circuit_update
from tests.vehicles.fixtures import BELT_CIRCUIT, car

ELECTRIC = CircuitData(
    drive=Drive.ELECTRIC_HV,
    refrigerant=Refrigerant.R1234YF,
    charge=parse_label_charge("465–515 g {16.5–18.1 oz}", default_unit="g"),
    lubricant=Lubricant.POE,
    oil=parse("4.9", Kind.VOLUME, default_unit="US fl oz"),
    working_voltage=parse("400 V", Kind.VOLTAGE, default_unit="V"),
    high_voltage_wait_minutes=12,
)


@pytest.fixture
def circuit(technician: User, now: datetime) -> Circuit:
    """The belt-driven circuit of a car."""
    return car(technician, now).circuits.get()


def update(actor: User, circuit: Circuit, data: CircuitData, now: datetime) -> Circuit:
    return circuit_update(actor=actor.as_actor(), circuit_id=circuit.pk, data=data, now=now)


class TestCircuitUpdate:
    def test_keeps_what_was_typed_beside_si(self, technician: User, circuit: Circuit, now: datetime) -> None:
        changed = update(technician, circuit, ELECTRIC, now)

        assert (changed.charge_kg, changed.tolerance_kg) == (pytest.approx(0.49), pytest.approx(0.025))
        assert changed.charge_typed == "465–515 g {16.5–18.1 oz}"
        # NIST SP 811:2008: 1 US fluid ounce = 29.5735 ml.
        assert changed.oil_m3 == pytest.approx(144.91e-6, abs=1e-8)
        assert changed.oil_typed == "4.9 US fl oz"

    def test_keeps_the_makers_oil_rule_as_it_was_typed(
        self, technician: User, circuit: Circuit, now: datetime
    ) -> None:
        rule = "source workshop manual, page 12\nnew compressor holds 120"

        assert update(technician, circuit, replace(ELECTRIC, oil_rule=rule), now).oil_rule == rule

    @pytest.mark.parametrize(
        ("rule", "sentence"),
        [
            ("source manual\nnew compressor is half full", "ine 2"),
            ("new compressor holds 120", "source"),
            ("source manual\npart condenser 1 oz", "ounce"),
        ],
    )
    def test_refuses_an_oil_rule_that_can_not_be_read(
        self, technician: User, circuit: Circuit, now: datetime, rule: str, sentence: str
    ) -> None:
        with pytest.raises(DomainError, match=sentence) as caught:
            update(technician, circuit, replace(ELECTRIC, oil_rule=rule), now)
        assert caught.value.field == "oil_rule"

    def test_records_who_entered_what_and_when(
        self, technician: User, owner: User, circuit: Circuit, now: datetime
    ) -> None:
        update(owner, circuit, ELECTRIC, now + timedelta(hours=1))

        entries = list(circuit.entries.order_by("sequence"))
        assert [entry.recorded_by_name for entry in entries] == ["Timo Lindqvist", "Olga Brandt"]
        assert [entry.values["drive"] for entry in entries] == ["BELT", "ELECTRIC_HV"]
        assert list(chain_breaks(CircuitEntry)) == []

    @pytest.mark.parametrize("sql", ["UPDATE {} SET values = '{{}}'", "DELETE FROM {}"])
    def test_records_are_never_changed_or_deleted(self, circuit: Circuit, sql: str) -> None:
        table = CircuitEntry._meta.db_table

        with (
            pytest.raises(IntegrityError, match="never changed or deleted"),
            transaction.atomic(),
            connection.cursor() as cursor,
        ):
            cursor.execute(sql.format(table))

    @pytest.mark.parametrize("who", ["front_desk", "outsider"])
    def test_is_the_technicians_and_the_owners(
        self, who: str, circuit: Circuit, request: pytest.FixtureRequest, now: datetime
    ) -> None:
        with pytest.raises(NotAllowed, match="You may not do this"):
            update(request.getfixturevalue(who), circuit, ELECTRIC, now)
        assert circuit.entries.count() == 1

    @pytest.mark.parametrize(
        ("wrong", "field", "sentence"),
        [
            ({"drive": "STEAM"}, "drive", "“STEAM” is not known here"),
            ({"refrigerant": "R22"}, "refrigerant", "“R22” is not known here"),
            ({"lubricant": "BUTTER"}, "lubricant", "“BUTTER” is not known here"),
            ({"metering": "TAP"}, "metering", "“TAP” is not known here"),
            ({"name": "x" * 400}, "name", "a name of 1 to 60 characters"),
            ({"high_voltage_wait_minutes": 241}, "high_voltage_wait_minutes", "A wait of 0 to 240 minutes"),
        ],
    )
    def test_refuses_what_no_circuit_has(
        self,
        technician: User,
        circuit: Circuit,
        now: datetime,
        wrong: dict[str, Any],
        field: str,
        sentence: str,
    ) -> None:
        with pytest.raises(DomainError, match=sentence) as refused:
            update(technician, circuit, replace(ELECTRIC, **wrong), now)
        assert refused.value.field == field

    def test_forgets_a_high_voltage_wait_without_high_voltage(
        self, technician: User, circuit: Circuit, now: datetime
    ) -> None:
        changed = update(technician, circuit, replace(BELT_CIRCUIT, high_voltage_wait_minutes=10), now)

        assert changed.high_voltage_wait_minutes is None


class TestCircuitCreate:
    def test_refuses_a_second_circuit_of_the_same_name(
        self, technician: User, circuit: Circuit, now: datetime
    ) -> None:
        with pytest.raises(CircuitKnown, match="has a circuit “a/c” already"):
            circuit_create(
                actor=technician.as_actor(),
                vehicle_id=circuit.vehicle_id,
                data=replace(BELT_CIRCUIT, name="a/c"),
                now=now,
            )


class TestNotices:
    def test_warn_of_pag_in_a_high_voltage_compressor(self) -> None:
        circuit = Circuit(drive=Drive.DUAL, lubricant=Lubricant.PAG)

        assert [notice.code for notice in circuit_notices(circuit)] == ["high_voltage_pag"]

    # UN Regulation No. 100 and 49 CFR 571.305 S4: direct voltage above 60 V is high voltage.
    @pytest.mark.parametrize(
        ("drive", "voltage_v", "codes"),
        [
            (Drive.ELECTRIC_HV, 60.0, ["voltage_low"]),
            (Drive.ELECTRIC_HV, 60.1, []),
            (Drive.ELECTRIC_LV, 48.0, []),
            (Drive.ELECTRIC_LV, 400.0, ["voltage_high"]),
            (Drive.BELT, None, []),
        ],
    )
    def test_warn_of_a_voltage_that_is_not_the_drives(
        self, drive: Drive, voltage_v: float | None, codes: list[str]
    ) -> None:
        circuit = Circuit(drive=drive, lubricant=Lubricant.POE, working_voltage_v=voltage_v)

        assert [notice.code for notice in circuit_notices(circuit)] == codes

    def test_tell_of_ounces_that_are_not_the_grams(self) -> None:
        circuit = Circuit(drive=Drive.BELT, charge_kg=0.49, charge_typed="465–515 g {16.5–18.1 oz}")

        assert [notice.code for notice in circuit_notices(circuit)] == ["label_units_disagree"]


class TestMissingData:
    def test_of_an_unread_label_names_what_can_not_be_done(self) -> None:
        missing = missing_data(Circuit(drive=Drive.ELECTRIC_HV))

        assert [one.what for one in missing] == [
            "Refrigerant",
            "Oil class",
            "Label charge",
            "Oil in the circuit",
            "Oil rule of the vehicle maker",
            "Working voltage",
            "Wait after shut-down",
            "Expansion device",
        ]
        assert missing[0].needed_for == "Nothing can be connected or recovered before it is known."

    def test_asks_no_voltage_of_a_belt(self) -> None:
        words = [one.what for one in missing_data(Circuit(drive=Drive.BELT))]

        assert "Working voltage" not in words
