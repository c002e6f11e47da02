"""Booking, check-in, closing and cancelling a job."""

from __future__ import annotations

from datetime import date, timedelta
from uuid import uuid4

import pytest

from jobs.choices import JobStatus, ServiceKind, StepKind
from jobs.errors import BookingInvalid, JobNotOpen, KeyReused, ReasonMissing, StepBlocked, ValuesInvalid
from jobs.models import StepRecord
from jobs.procedure import StepStatus
from jobs.services.booking import Booking, job_book
from jobs.services.closing import job_close
from jobs.services.visits import job_cancel, job_check_in
from shopcool.core.errors import NotAllowed
from shopcool.vehicles.choices import Drive, Lubricant
from tests.jobs.bay import RAW, Bay


class TestBooking:
    def test_numbers_jobs_one_after_the_other(self, workshop):
        booking = Booking(ServiceKind.AC_SERVICE, workshop.now)

        numbers = [
            job_book(actor=workshop.technician, circuit=workshop.circuit(), booking=booking, now=workshop.now)
            .number.removeprefix("J-")
            for _ in range(3)
        ]  # fmt: skip

        assert int(numbers[0]) > 1000
        assert [int(number) - int(numbers[0]) for number in numbers] == [0, 1, 2]

    def test_is_open_to_the_front_desk_and_closed_to_outsiders(self, workshop, front_desk, outsider):
        booking = Booking(ServiceKind.AC_SERVICE, workshop.now)
        circuit = workshop.circuit()

        job = job_book(actor=front_desk.as_actor(), circuit=circuit, booking=booking, now=workshop.now)

        assert job.status == JobStatus.BOOKED
        with pytest.raises(NotAllowed, match="Ask the owner"):
            job_book(actor=outsider.as_actor(), circuit=circuit, booking=booking, now=workshop.now)

    def test_of_an_insulation_check_needs_high_voltage(self, workshop):
        circuit = workshop.circuit(drive=Drive.BELT, lubricant=Lubricant.PAG)
        booking = Booking(ServiceKind.INSULATION, workshop.now)

        with pytest.raises(BookingInvalid, match="no insulation to check"):
            job_book(actor=workshop.technician, circuit=circuit, booking=booking, now=workshop.now)

    @pytest.mark.parametrize("days", [-2, 400])
    def test_is_for_today_or_the_coming_year(self, workshop, days):
        booking = Booking(ServiceKind.AC_SERVICE, workshop.now + timedelta(days=days))

        with pytest.raises(BookingInvalid, match="today or for a day of the coming year"):
            job_book(actor=workshop.technician, circuit=workshop.circuit(), booking=booking, now=workshop.now)

    def test_of_lost_drive_needs_somebody_qualified_for_high_voltage(self, workshop, colleague):
        # A hybrid whose dead A/C was called mere comfort lost its electric drive weeks later (forum, 2006).
        booking = Booking(
            ServiceKind.AC_SERVICE, workshop.now, affects_driving=True, technician_id=colleague.pk
        )

        with pytest.raises(BookingInvalid, match="has no high-voltage competence in date") as refused:
            job_book(actor=workshop.technician, circuit=workshop.circuit(), booking=booking, now=workshop.now)
        assert refused.value.field == "technician"
        belt = workshop.circuit(drive=Drive.BELT, lubricant=Lubricant.PAG)
        assert job_book(actor=workshop.technician, circuit=belt, booking=booking, now=workshop.now)


class TestCheckIn:
    def test_opens_the_first_step(self, bay):
        assert bay.state(StepKind.LABEL).status is StepStatus.BLOCKED

        bay.checked_in()

        assert bay.state(StepKind.LABEL).status is StepStatus.NEXT

    def test_happens_once(self, bay):
        bay.checked_in()

        with pytest.raises(JobNotOpen, match="In the workshop"):
            job_check_in(actor=bay.technician, job=bay.job, now=bay.workshop.later())


class TestClosing:
    def test_is_refused_before_the_closing_purge_and_names_the_pieces(self, bay):
        bay.up_to_purge()

        with pytest.raises(StepBlocked) as refused:
            bay.close()

        sentences = " ".join(reason.sentence for reason in refused.value.reasons)
        assert "Without a line purge since they left this vehicle: H-1, M-1." in sentences

    def test_follows_the_purge_and_sets_the_next_service(self, bay):
        bay.up_to_purge()
        bay.workshop.purge(bay.machine, bay.hoses)

        job = bay.close()

        assert job.status == JobStatus.CLOSED
        assert job.next_service_on == date(2028, 3, 2)
        assert StepRecord.objects.get(job=job, kind=StepKind.CLOSE_OUT).answer["satisfied"]

    def test_is_refused_when_one_piece_was_left_out_of_the_purge(self, bay):
        bay.up_to_purge()
        bay.workshop.purge(bay.machine)

        with pytest.raises(StepBlocked) as refused:
            bay.close()

        assert any("H-1" in reason.sentence for reason in refused.value.reasons)

    @pytest.mark.parametrize("missing", [StepKind.READINGS_AFTER, StepKind.LEAK_CHECK])
    def test_is_refused_while_a_required_step_is_missing(self, workshop, missing):
        bay = Bay(workshop).up_to(StepKind.CHARGE)
        if missing is StepKind.LEAK_CHECK:
            bay.record(StepKind.READINGS_AFTER)
        bay.disconnect()
        bay.workshop.purge(bay.machine, bay.hoses)

        with pytest.raises(StepBlocked) as refused:
            bay.close()

        assert missing in {reason.step for reason in refused.value.reasons}

    def test_refuses_a_next_service_in_the_past(self, bay):
        bay.up_to_purge()
        bay.workshop.purge(bay.machine, bay.hoses)

        with pytest.raises(ValuesInvalid, match="lies in the future"):
            bay.close(next_service_on="2025-01-01")

    def test_sent_twice_closes_once(self, bay):
        bay.up_to_purge()
        bay.workshop.purge(bay.machine, bay.hoses)
        form = {"actor": bay.technician, "job": bay.job, "idempotency_key": uuid4()}

        job_close(raw=RAW[StepKind.CLOSE_OUT], now=bay.workshop.later(), **form)
        job_close(raw=RAW[StepKind.CLOSE_OUT], now=bay.workshop.later(), **form)

        assert StepRecord.objects.filter(job=bay.job, kind=StepKind.CLOSE_OUT).count() == 1
        with pytest.raises(KeyReused, match="sent before with other values"):
            job_close(
                raw={"next_service_on": "2029-01-01", "customer_told": "no"}, now=bay.workshop.later(), **form
            )

    def test_is_not_for_the_front_desk_nor_for_people_without_competence(self, bay, front_desk, colleague):
        bay.up_to_purge()
        bay.workshop.purge(bay.machine, bay.hoses)

        with pytest.raises(NotAllowed, match="Ask the owner"):
            bay.close(actor=front_desk.as_actor())
        with pytest.raises(NotAllowed, match="no refrigerant-handling competence in date"):
            bay.close(actor=colleague.as_actor())

    def test_is_final(self, bay):
        bay.up_to_purge()
        bay.workshop.purge(bay.machine, bay.hoses)
        bay.close()

        with pytest.raises(JobNotOpen, match="finished already"):
            bay.close()
        with pytest.raises(StepBlocked, match="the job is closed"):
            bay.record(StepKind.CHARGE)


class TestCancelling:
    def test_needs_a_reason_and_keeps_it_with_the_person(self, bay):
        with pytest.raises(ReasonMissing, match="Say why"):
            job_cancel(actor=bay.technician, job=bay.job, reason=" ", now=bay.workshop.later())

        job = job_cancel(
            actor=bay.technician, job=bay.job, reason="Customer did not come.", now=bay.workshop.later()
        )

        record = StepRecord.objects.get(job=job)
        assert job.status == JobStatus.CANCELLED
        assert (record.note, record.recorded_by_name) == ("Customer did not come.", bay.technician.name)

    def test_is_refused_while_pieces_are_on_or_due_for_purge(self, bay):
        bay.up_to_connection()
        with pytest.raises(JobNotOpen, match="still on the vehicle"):
            job_cancel(actor=bay.technician, job=bay.job, reason="Gave up.", now=bay.workshop.later())
        bay.disconnect()
        with pytest.raises(JobNotOpen, match="line purge first: H-1, M-1"):
            job_cancel(actor=bay.technician, job=bay.job, reason="Gave up.", now=bay.workshop.later())
