"""A person's units change what is read and what a bare number means, never what is on record."""

from __future__ import annotations

from dataclasses import replace
from uuid import uuid4

import pytest

from jobs.choices import StepKind
from jobs.forms.steps import CorrectionForm
from jobs.services.steps import step_correct, step_try
from jobs.situation import situation_of
from jobs.steps.registry import step_of
from shopcool.core.actors import Actor, PreferredUnits
from tests.jobs.bay import Bay

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
