"""Registered instruments and gloves in the steps: chosen instead of typed, refused when they are not fit."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from pytest_django import DjangoAssertNumQueries

from equipment.choices import DocumentKind, PieceKind
from equipment.maintenance.choices import IntervalSource, Work
from equipment.maintenance.plans import PlanDescription, gloves_issue, plan_add
from equipment.maintenance.rules import Interval
from equipment.models import Piece
from equipment.services.exposures import piece_put_out_of_service
from equipment.services.pieces import DocumentDescription, document_add, piece_retire
from jobs.choices import StepKind
from jobs.errors import ValuesInvalid
from jobs.instruments_on_hand import RegisteredInstruments
from jobs.pages.ways import step_url
from jobs.steps.instruments import InstrumentChoice
from jobs.steps.registry import step_of
from tests.equipment.workshop import Workshop
from tests.jobs.bay import RAW, Bay
from tests.jobs.browser import Tablet, words
from tests.jobs.steps.asking import ask, context, values

PRECAUTIONS = RAW[StepKind.HIGH_VOLTAGE]
MONDAY = date(2026, 3, 2)


def voltage_tester(workshop: Workshop, code: str, valid_until: date = date(2027, 1, 1)) -> Piece:
    """Return a voltage tester with a calibration."""
    piece = workshop.piece(code, PieceKind.VOLTAGE_TESTER)
    calibration = DocumentDescription(
        DocumentKind.CALIBRATION, f"K-{code}", "Board", date(2025, 1, 1), valid_until
    )
    document_add(actor=workshop.owner, piece=piece, description=calibration, now=workshop.now)
    return piece


def gloves(workshop: Workshop, code: str, *, tested: date | None, issued: bool) -> Piece:
    """Return gloves of class 0, tested every six months when they were tested at all."""
    piece = workshop.piece(code, PieceKind.GLOVES, glove_class="0")
    if tested:
        plan = PlanDescription(
            Work.GLOVE_TEST, Interval(months=6), IntervalSource.SHOP_POLICY, starts_on=tested
        )
        plan_add(actor=workshop.owner, piece=piece, description=plan, now=workshop.now)
    if issued:
        gloves_issue(actor=workshop.owner, piece=piece, issued_on=MONDAY, now=workshop.now)
    return piece


def typed(**changes: Any) -> dict[str, Any]:
    """Return the precautions with registered gloves or tester: their class and test are not typed."""
    left_out = {"glove_class", "gloves_tested_on"} if "gloves" in changes else set()
    return {name: value for name, value in PRECAUTIONS.items() if name not in left_out} | {
        name: str(getattr(value, "pk", value)) for name, value in changes.items()
    }


class TestChoosing:
    def test_offers_what_is_registered_and_marks_what_is_not_fit(self, workshop: Workshop) -> None:
        good, old = (
            voltage_tester(workshop, "V-1"),
            voltage_tester(workshop, "V-2", valid_until=date(2026, 3, 1)),
        )

        known = context(instruments=RegisteredInstruments(MONDAY))
        asked = {spec.name: spec for spec in step_of(StepKind.HIGH_VOLTAGE).fields_for(known)}
        offered = {choice.id: choice.words for choice in known.instruments}

        assert "voltage_tester" in asked
        assert "gloves" not in asked  # none are registered: class and test are typed
        assert asked["glove_class"].shown_if is None
        assert offered == {good.pk: "V-1 Piece V-1", old.pk: "V-2 Piece V-2: not fit for use"}

    def test_keeps_what_held_for_gloves_when_they_were_named(self, workshop: Workshop) -> None:
        pair = gloves(workshop, "G-1", tested=date(2026, 1, 5), issued=True)
        known = context(instruments=RegisteredInstruments(MONDAY))

        kept = values(StepKind.HIGH_VOLTAGE, typed(gloves=pair), known)
        answer = ask(StepKind.HIGH_VOLTAGE, typed(gloves=pair), known)

        # Six months after they were given out: 29 CFR 1910.137 table I-5.
        assert kept.stored["gloves"] == {
            "id": pair.pk, "code": "G-1", "name": "Piece G-1", "glove_class": "0", "good_until": "2026-09-02",
        }  # fmt: skip
        assert answer.satisfied

    def test_compares_the_class_of_registered_gloves_with_the_voltage(self) -> None:
        # Class 00: 500 V AC, 29 CFR 1910.137 table I-4.
        thin = InstrumentChoice(
            7, "G-7", "Gloves", PieceKind.GLOVES, glove_class="00", good_until=date(2026, 9, 2)
        )
        known = context(instruments=[thin], working_voltage_v=800.0)

        assert "glove_class_too_low" in ask(StepKind.HIGH_VOLTAGE, typed(gloves=7), known).codes
        known = replace(known, working_voltage_v=400.0)
        assert ask(StepKind.HIGH_VOLTAGE, typed(gloves=7), known).satisfied


class TestRefusals:
    def refused(self, known: Any, **changes: Any) -> str:
        """Return the sentence beside the field that was chosen."""
        with pytest.raises(ValuesInvalid) as refusal:
            values(StepKind.HIGH_VOLTAGE, typed(**changes), known)
        assert set(refusal.value.fields) == set(changes)
        return " ".join(*refusal.value.fields.values())

    def test_stand_beside_the_field_with_reason_and_way_out(self, workshop: Workshop) -> None:
        old, broken = voltage_tester(workshop, "V-2", date(2026, 3, 1)), voltage_tester(workshop, "V-3")
        piece_put_out_of_service(actor=workshop.owner, piece_id=broken.pk, reason="fell", now=workshop.now)
        stored = gloves(workshop, "G-2", tested=date(2026, 1, 5), issued=False)
        untested = gloves(workshop, "G-3", tested=None, issued=False)
        known = context(instruments=RegisteredInstruments(MONDAY))

        assert "V-2 has run out. Take another one" in self.refused(known, voltage_tester=old)
        assert "V-3 is out of service: fell Take another" in self.refused(known, voltage_tester=broken)
        assert "G-2 lie in store. Record on their page" in self.refused(known, gloves=stored)
        assert "No test of G-3 is on record. Take others" in self.refused(known, gloves=untested)
        assert "not registered for this work" in self.refused(known, gloves=old)

    def test_leave_alone_what_a_record_named_before(self, workshop: Workshop) -> None:
        used = voltage_tester(workshop, "V-1")
        piece_retire(actor=workshop.owner, piece=used, reason="worn", now=workshop.now)
        known = context(instruments=RegisteredInstruments(MONDAY, named=[used.pk]))

        assert values(StepKind.HIGH_VOLTAGE, typed(voltage_tester=used), known).named("voltage_tester")
        assert not list(RegisteredInstruments(MONDAY))


class TestPage:
    def test_asks_for_the_registered_ones_and_records_them(
        self, bay: Bay, technician_tablet: Tablet, django_assert_max_num_queries: DjangoAssertNumQueries
    ) -> None:
        bay.checked_in().record(StepKind.LABEL)
        pair = gloves(bay.workshop, "G-1", tested=date(2026, 1, 5), issued=True)
        fit = voltage_tester(bay.workshop, "V-1")
        address = step_url(bay.job.number, StepKind.HIGH_VOLTAGE)
        technician_tablet.open(address)
        with django_assert_max_num_queries(15) as few:
            page = technician_tablet.open(address)
        for number in range(2, 5):
            voltage_tester(bay.workshop, f"V-{number}")
        with django_assert_max_num_queries(15) as many:
            technician_tablet.open(address)

        form = technician_tablet.form(page, address)
        assert (form["gloves"], form["voltage_tester"]) == (str(pair.pk), str(fit.pk))
        assert len(few) == len(many)
        record = bay.record(StepKind.HIGH_VOLTAGE, **typed(gloves=pair, voltage_tester=fit))
        assert record.answer["satisfied"]
        assert "G-1 Piece G-1" in words(technician_tablet.open(address))
