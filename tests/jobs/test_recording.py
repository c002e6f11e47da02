"""Recording and correcting steps."""

from __future__ import annotations

from datetime import timedelta
from uuid import uuid4

import pytest
from django.db import IntegrityError, transaction

from jobs.choices import ServiceKind, StepKind
from jobs.errors import (
    JobNotOpen,
    KeyReused,
    ReasonMissing,
    StepBlocked,
    StepNotNeeded,
    StepNotRepeatable,
    StepTaken,
    ValuesInvalid,
)
from jobs.models import StepRecord
from jobs.procedure import Outcome, StepStatus
from jobs.services.steps import step_correct, step_record, step_try
from jobs.services.visits import job_cancel
from jobs.steps.answers import Answer
from shopcool.core.errors import NotAllowed
from shopcool.core.records import chain_breaks
from shopcool.vehicles.choices import Drive, Lubricant, Refrigerant
from tests.jobs.bay import Bay


def send(bay, kind, key, *, seen=0, **changes):
    """Send a form with a key of its own."""
    return step_record(
        actor=bay.technician,
        job=bay.job,
        kind=kind,
        raw=bay.raw(kind, **changes),
        seen=seen,
        idempotency_key=key,
        now=bay.workshop.later(),
    )


def correct(bay, record, reason="read the wrong line", actor=None, **changes):
    """Correct a record with a fresh form."""
    return step_correct(
        actor=actor or bay.technician,
        record=record,
        raw=bay.raw(StepKind(record.kind), **changes),
        reason=reason,
        idempotency_key=uuid4(),
        now=bay.workshop.later(),
    )


class TestRecording:
    def test_keeps_what_was_typed_beside_si_and_the_answer(self, bay):
        bay.up_to_connection()

        record = bay.record(StepKind.READINGS_BEFORE)

        low = record.values["low"]
        assert (low["typed"], low["unit"], low["basis"], low["source"]) == ("71 psi", "psi", "gauge", "GAUGE")
        assert low["si"] == pytest.approx(101325 + 71 * 6894.757293168)
        assert Answer.from_record(record.answer).outcome is Outcome.STATIC
        assert record.recorded_by_name == bay.technician.name

    def test_of_a_blocked_step_is_refused_with_its_reasons(self, bay):
        bay.checked_in()
        bay.record(StepKind.LABEL)

        with pytest.raises(StepBlocked, match="has not been identified on this job") as refused:
            send(bay, StepKind.RECOVERY, uuid4())

        assert "no_machine" in {reason.code for reason in refused.value.reasons}
        assert refused.value.details["reasons"][0]["step"] == "IDENTIFICATION"

    def test_of_a_step_the_job_does_not_need_is_refused(self, workshop):
        bay = Bay(workshop, drive=Drive.BELT, lubricant=Lubricant.PAG).checked_in()
        bay.record(StepKind.LABEL)

        with pytest.raises(StepNotNeeded, match="not high voltage"):
            bay.record(StepKind.INSULATION)

    @pytest.mark.parametrize("kind", [StepKind.CONNECTION, StepKind.CLOSING_PURGE, StepKind.CLOSE_OUT])
    def test_of_a_step_with_its_own_action_is_refused(self, bay, kind):
        bay.checked_in()

        with pytest.raises(StepNotNeeded, match="its own action"):
            step_record(
                actor=bay.technician, job=bay.job, kind=kind, raw={}, seen=0, idempotency_key=uuid4(),
                now=bay.workshop.later(),
            )  # fmt: skip

    def test_with_a_wrong_number_names_the_field_and_leaves_no_row(self, bay):
        bay.up_to(StepKind.OIL)

        with pytest.raises(ValuesInvalid) as refused:
            bay.record(StepKind.CHARGE, mass="55 kg")

        assert (refused.value.code, refused.value.field) == ("invalid", "mass")
        assert not StepRecord.objects.filter(kind=StepKind.CHARGE).exists()

    def test_is_for_technicians(self, bay, front_desk, outsider):
        bay.checked_in()

        for person in (front_desk, outsider):
            with pytest.raises(NotAllowed, match="Ask the owner"):
                bay.record(StepKind.LABEL, actor=person.as_actor())

    def test_of_work_with_refrigerant_needs_its_competence(self, bay, colleague):
        bay.up_to(StepKind.READINGS_BEFORE)

        with pytest.raises(NotAllowed, match="Clara Osei has no refrigerant-handling competence"):
            bay.record(StepKind.RECOVERY, actor=colleague.as_actor())

    def test_of_high_voltage_work_needs_its_competence(self, bay, colleague):
        bay.checked_in()
        bay.record(StepKind.LABEL)

        with pytest.raises(NotAllowed, match="Clara Osei has no high-voltage competence"):
            bay.record(StepKind.HIGH_VOLTAGE, actor=colleague.as_actor())

    def test_of_a_past_moment_lies_between_check_in_and_now(self, bay):
        bay.checked_in()
        early = bay.workshop.now - timedelta(hours=2)

        for moment, sentence in ((early, "before the vehicle was checked in"), (None, "in the future")):
            with pytest.raises(ValuesInvalid, match=sentence):
                step_record(
                    actor=bay.technician, job=bay.job, kind=StepKind.LABEL, raw=bay.raw(StepKind.LABEL),
                    seen=0, idempotency_key=uuid4(), now=bay.workshop.later(),
                    occurred_at=moment or bay.workshop.now + timedelta(minutes=1),
                )  # fmt: skip

    def test_again_counts_the_newest_and_keeps_all(self, bay):
        bay.up_to(StepKind.EVACUATION)
        bay.record(StepKind.EVACUATION, end="90 mbar")

        assert bay.state(StepKind.EVACUATION).status is StepStatus.NEXT
        assert StepRecord.objects.filter(kind=StepKind.EVACUATION).count() == 2

    def test_tried_first_gives_the_answer_and_leaves_no_row(self, bay):
        bay.checked_in()
        before = StepRecord.objects.count()

        answer = step_try(
            actor=bay.technician, job=bay.job, kind=StepKind.LABEL, raw=bay.raw(StepKind.LABEL),
            now=bay.workshop.now,
        )  # fmt: skip

        assert answer.outcome is Outcome.MATCHES
        assert StepRecord.objects.count() == before


class TestSendingTwice:
    def test_gives_the_first_record(self, bay):
        bay.checked_in()
        key = uuid4()

        first, second = send(bay, StepKind.LABEL, key), send(bay, StepKind.LABEL, key)

        assert first.pk == second.pk
        assert StepRecord.objects.filter(kind=StepKind.LABEL).count() == 1

    def test_with_other_input_is_refused(self, bay):
        bay.checked_in()
        key = uuid4()
        send(bay, StepKind.LABEL, key)

        with pytest.raises(KeyReused, match="sent before with other values"):
            send(bay, StepKind.LABEL, key, complaint="smells")

    def test_for_another_step_is_refused(self, bay):
        bay.checked_in()
        key = uuid4()
        send(bay, StepKind.LABEL, key)

        with pytest.raises(KeyReused):
            send(bay, StepKind.IDENTIFICATION, key)

    def test_by_two_people_tells_the_second_who_was_faster(self, bay):
        bay.checked_in()
        send(bay, StepKind.LABEL, uuid4())

        with pytest.raises(StepTaken, match="Tilda recorded this step at"):
            send(bay, StepKind.LABEL, uuid4())


class TestCorrecting:
    def test_leaves_the_first_record_and_counts_the_new_one(self, bay):
        bay.up_to(StepKind.CHARGE)
        first = StepRecord.objects.get(kind=StepKind.CHARGE)

        second = correct(bay, first, mass="500", reason="typed the label")

        assert (second.corrects_id, second.correction_reason) == (first.pk, "typed the label")
        assert StepRecord.objects.get(pk=first.pk).values["mass"]["typed"] == "550"
        assert bay.state(StepKind.CHARGE).status is StepStatus.NEXT

    def test_keeps_the_place_of_the_first_record_in_the_work(self, bay):
        bay.up_to(StepKind.CHARGE)

        correct(bay, StepRecord.objects.get(kind=StepKind.RECOVERY), mass="490 g")

        assert bay.state(StepKind.CHARGE).status is StepStatus.DONE

    @pytest.mark.parametrize("kind", [StepKind.RECOVERY, StepKind.EVACUATION, StepKind.CHARGE])
    def test_names_what_was_on_the_vehicle_then_though_it_is_off_now(self, bay, kind):
        bay.up_to_purge()

        second = correct(bay, StepRecord.objects.get(kind=kind))

        assert second.values["machine"]["code"] == bay.machine.code

    def test_does_not_name_a_machine_that_came_only_later(self, bay):
        bay.up_to(StepKind.RECOVERY).disconnect()
        later = bay.workshop.machine("M-9", Refrigerant.R1234YF)
        bay.workshop.purge(later, bay.hoses)
        bay.connect(later, bay.hoses)

        with pytest.raises(ValuesInvalid) as refused:
            correct(bay, StepRecord.objects.get(kind=StepKind.RECOVERY), machine=str(later.pk))

        assert set(refused.value.fields) == {"machine"}

    def test_needs_a_reason(self, bay):
        bay.checked_in()
        record = bay.record(StepKind.LABEL)

        with pytest.raises(ReasonMissing, match="Say why"):
            correct(bay, record, reason="  ")

    def test_happens_to_the_newest_record_only(self, bay):
        bay.checked_in()
        record = bay.record(StepKind.LABEL)
        correct(bay, record, complaint="squeaks")

        with pytest.raises(StepNotRepeatable, match="This step is done"):
            correct(bay, record, complaint="rattles")

    def test_of_a_connection_is_impossible(self, bay):
        bay.up_to_connection()
        record = StepRecord.objects.get(kind=StepKind.CONNECTION)

        with pytest.raises(StepNotRepeatable):
            step_correct(
                actor=bay.technician, record=record, raw={"pieces": "none"}, reason="oops",
                idempotency_key=uuid4(), now=bay.workshop.later(),
            )  # fmt: skip

    def test_of_a_closed_job_is_the_owners(self, bay):
        bay.up_to_purge()
        bay.workshop.purge(bay.machine, bay.hoses)
        bay.close()
        record = StepRecord.objects.get(kind=StepKind.LEAK_CHECK)

        with pytest.raises(NotAllowed, match="Only the owner"):
            correct(bay, record, smallest="5 g/year")
        assert correct(bay, record, actor=bay.workshop.owner, smallest="5 g/year").corrects_id == record.pk

    def test_of_a_cancelled_job_is_refused(self, bay):
        bay.checked_in()
        record = bay.record(StepKind.LABEL)
        job_cancel(actor=bay.technician, job=bay.job, reason="Sold the car.", now=bay.workshop.later())

        with pytest.raises(JobNotOpen, match="cancelled"):
            correct(bay, record, complaint="none")


class TestRecords:
    def test_can_not_be_changed_or_deleted(self, bay):
        bay.checked_in()
        record = bay.record(StepKind.LABEL)
        rows = StepRecord.objects.filter(pk=record.pk)

        for change in (lambda: rows.update(note="x"), rows.delete, record.delete):
            with pytest.raises(IntegrityError, match="never changed or deleted"), transaction.atomic():
                change()

    def test_form_a_chain_that_holds(self, bay):
        bay.up_to(StepKind.CHARGE)
        correct(bay, StepRecord.objects.get(kind=StepKind.CHARGE), mass="551 g")

        assert list(chain_breaks(StepRecord)) == []


class TestRepair:
    def test_of_a_high_voltage_circuit_is_carried_through(self, workshop):
        bay = Bay(workshop, ServiceKind.REPAIR).checked_in()
        bay.record(StepKind.LABEL)
        bay.record(StepKind.HIGH_VOLTAGE)
        bay.record(StepKind.IDENTIFICATION)
        bay.record(StepKind.OIL_BOTTLE)
        bay.connect()
        bay.record(StepKind.READINGS_BEFORE)
        bay.record(StepKind.INSULATION)
        bay.record(StepKind.RECOVERY)
        bay.record(StepKind.PARTS)
        for kind in (StepKind.EVACUATION, StepKind.OIL, StepKind.CHARGE, StepKind.READINGS_AFTER):
            bay.record(kind)
        bay.record(StepKind.LEAK_CHECK)
        bay.disconnect()
        workshop.purge(bay.machine, bay.hoses)

        assert bay.close().closed_at is not None
