"""A person's units change what is read and what a bare number means, never what is on record."""

from __future__ import annotations

from dataclasses import replace
from typing import Any
from uuid import uuid4

import pytest
from django.urls import reverse
from rest_framework.test import APIClient

from jobs.choices import StepKind
from jobs.forms.steps import CorrectionForm
from jobs.services.steps import step_correct, step_try
from jobs.situation import situation_of
from jobs.steps.registry import step_of
from shopcool.core.actors import Actor, PreferredUnits
from shopcool.people.models import User
from tests.api.test_reading import client_of
from tests.jobs.bay import Bay
from tests.jobs.browser import words

READING = {"state": "STATIC", "low": "68.2", "high": "68,2 psig", "ambient": "68"}


@pytest.fixture
def american(bay: Bay) -> Actor:
    """A technician in a metric workshop who thinks in pounds per square inch."""
    bay.up_to_connection()
    return replace(bay.technician, units=PreferredUnits("psi", "°F", "oz", "US fl oz"))


class TestPreferredUnits:
    def test_are_the_unit_of_a_bare_number(self, bay, american):
        record = bay.record(StepKind.READINGS_BEFORE, american, **READING)

        # 68.2 psi above one standard atmosphere; 68 °F is exactly 20 °C.
        assert record.values["low"]["si"] == pytest.approx(68.2 * 6894.757293168 + 101_325.0)
        assert record.values["ambient"]["si"] == pytest.approx(293.15)
        assert record.values["low"]["typed"] == "68.2"

    def test_are_the_units_of_the_answer(self, bay, american):
        ask = {"job": bay.job, "kind": StepKind.READINGS_BEFORE, "now": bay.workshop.now}
        raw = READING | {"low": "4.7 bar", "high": "4.7 bar", "ambient": "20 °C"}

        theirs = step_try(actor=american, raw=raw, **ask).output("low")
        ours = step_try(actor=bay.technician, raw=raw, **ask).output("low")

        assert theirs.text.endswith("psi(a)")
        assert ours.text.endswith("bar(a)")
        assert theirs.si == ours.si

    def test_one_quantity_may_differ_from_the_workshop_s(self, bay, american):
        actor = replace(american, units=PreferredUnits(temperature="°F"))

        record = bay.record(StepKind.READINGS_BEFORE, actor, **READING | {"low": "4.7", "high": "4.7"})

        assert record.values["low"]["unit"] == "bar"
        assert record.values["ambient"]["unit"] == "°F"

    def test_opened_and_saved_twenty_times_a_record_stays_to_the_last_bit(self, bay, american):
        record = bay.record(StepKind.READINGS_BEFORE, american, **READING)
        first = record.values
        fields = step_of(StepKind.READINGS_BEFORE).fields

        for number in range(20):
            actor = american if number % 2 else bay.technician
            now = bay.workshop.later()
            context = situation_of(bay.job, now=now, without=record, units=actor.units).context
            form = CorrectionForm(fields, context, values=record.values)
            record = step_correct(
                actor=actor,
                record=record,
                raw=sent(form),
                reason="only looked",
                idempotency_key=uuid4(),
                now=now,
            )

        assert record.values == first


class TestPages:
    def test_tell_label_and_records_in_the_units_of_whoever_looks(self, bay, owner_tablet):
        """NIST SP 811:2008: 550 g = 19.40 oz; 71 psi = 4.895 bar."""
        bay.up_to(StepKind.CHARGE)
        User.objects.filter(username="orla").update(mass_unit="oz", temperature_unit="°F")

        page = words(owner_tablet.job(bay.job))

        assert "19.40 oz ± 0.71 oz" in page
        assert "0,48 kg = 16.93 oz = 480 g" in page
        assert "19.40 oz (550 g)" in page
        assert "71 psi, on a gauge = 4.90 bar(g) = 5.91 bar(a)" in page

    def test_of_the_api_tell_every_value_in_the_units_that_are_asked_for(self, bay):
        bay.up_to(StepKind.CHARGE)
        client = client_of(User.objects.get(username="tilda"))

        us, metric = (_record(client, bay, StepKind.CHARGE, units) for units in ("us", "metric"))

        assert (us["told"]["mass"], us["told"]["total"]) == ("550 g = 19.40 oz", "19.40 oz (550 g)")
        assert (metric["told"]["mass"], metric["told"]["total"]) == ("550 g", "550 g")
        assert us["values"] == metric["values"]

    def test_stand_in_what_was_found_with_the_recorded_ones_in_brackets(self, bay, owner_tablet):
        """1 psi is 6894.757 Pa, 1 oz 28.34952 g (NIST SP 811:2008); R-1234yf at 20 °C has 4.91 bar gauge."""
        bay.up_to(StepKind.CHARGE)
        User.objects.filter(username="orla").update(mass_unit="oz", pressure_unit="psi")

        page = words(owner_tablet.job(bay.job))

        assert "saturation 71.1 psi(g) (4.91 bar(g)) ± 7.8 psi (54 kPa)" in page
        assert "At least 16.93 oz (480 g) was in the circuit." in page
        read = next(row for row in bay.situation.records if row.kind == StepKind.READINGS_BEFORE)
        assert read.answer["findings"][2]["limit"] == "saturation 4.91 bar(g) ± 54 kPa"
        recovery = _record(client_of(User.objects.get(username="orla")), bay, StepKind.RECOVERY)
        assert recovery["findings"][0] == "At least 16.93 oz (480 g) was in the circuit."

    def test_of_the_api_refuse_units_that_nobody_knows(self, bay):
        client = client_of(User.objects.get(username="tilda"))

        answer = client.get(reverse("api:job", args=[bay.job.number]), {"units": "stone"})

        assert (answer.status_code, answer.json()["code"]) == (400, "unit_unknown")
        assert "ask for metric, us" in answer.json()["message"]

    def test_of_the_api_read_and_sent_twenty_times_a_reading_stays_to_the_last_bit(self, bay):
        bay.up_to(StepKind.READINGS_BEFORE)
        client = client_of(User.objects.get(username="tilda"))
        first = bay.situation.records[-1].values

        for number in range(20):
            units = "?units=us" if number % 2 else "?units=metric"
            read = client.get(reverse("api:job", args=[bay.job.number]) + units).json()["records"][-1]
            sending = {"values": _typed(read["values"]), "seen": number + 1, "idempotency_key": str(uuid4())}
            address = reverse("api:job_step", args=[bay.job.number, "READINGS_BEFORE"]) + units
            assert client.post(address, sending, format="json").status_code == 201

        assert bay.situation.records[-1].values == first


def _record(client: APIClient, bay: Bay, kind: StepKind, units: str = "") -> dict[str, Any]:
    answer = client.get(reverse("api:job", args=[bay.job.number]), {"units": units}).json()
    return next(record for record in answer["records"] if record["kind"] == kind)


def _typed(values: dict[str, Any]) -> dict[str, Any]:
    """Return stored values as another system sends them back: the number as typed, and what belongs to it."""
    raw: dict[str, Any] = {}
    for name, value in values.items():
        raw[name] = value["typed"] if isinstance(value, dict) else value
        parts = ("unit", "basis", "source") if isinstance(value, dict) else ()
        raw |= {f"{name}_{part}": value[part] for part in parts if value.get(part)}
    return raw


def sent(form: CorrectionForm) -> dict[str, str]:
    """Return what a browser sends when nothing in the form is touched."""
    raw: dict[str, str] = {}
    for spec in form.specs:
        shown = form.initial[spec.name]
        if shown is None:
            continue
        if isinstance(shown, str):
            raw[spec.name] = shown
            continue
        raw |= {spec.name: shown.text, f"{spec.name}_unit": shown.unit}
        raw |= {
            f"{spec.name}_{part}": getattr(shown, part)
            for part in ("basis", "source")
            if getattr(shown, part)
        }
    return raw
