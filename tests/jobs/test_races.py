"""Two tablets at the same moment, with real threads and real transactions."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from uuid import uuid4

import pytest
from django.db import connection

from equipment.errors import PieceBusy
from equipment.models import Connection
from jobs.choices import StepKind
from jobs.errors import JobNotOpen, StepTaken
from jobs.models import StepRecord
from jobs.services.closing import job_close
from jobs.services.connecting import job_connect
from jobs.services.steps import step_record
from shopcool.core.records import chain_breaks
from tests.equipment.workshop import Workshop
from tests.jobs.bay import RAW, Bay

TABLETS = 8


def together(action, number=TABLETS):
    """Run the action in many threads at the same moment and return results and refusals."""
    start = Barrier(number)

    def run(index):
        start.wait(timeout=30)
        try:
            return action(index)
        except Exception as error:  # noqa: BLE001 - the test looks at every refusal
            return error
        finally:
            connection.close()

    with ThreadPoolExecutor(number) as pool:
        return list(pool.map(run, range(number)))


@pytest.fixture
def bay(transactional_db):
    """An electric car's job, committed so that other threads see it."""
    return Bay(Workshop())


@pytest.mark.django_db(transaction=True)
class TestRaces:
    def test_one_of_many_tablets_records_a_step_and_the_others_are_told_who_did(self, bay):
        bay.checked_in()
        now = bay.workshop.later()

        def send(index):
            return step_record(
                actor=bay.technician, job=bay.job, kind=StepKind.LABEL, raw=bay.raw(StepKind.LABEL), seen=0,
                idempotency_key=uuid4(), now=now,
            )  # fmt: skip

        results = together(send)

        refused = [result for result in results if isinstance(result, StepTaken)]
        assert len(refused) == TABLETS - 1
        assert all("Tilda recorded this step at" in error.message for error in refused)
        assert StepRecord.objects.filter(kind=StepKind.LABEL).count() == 1

    def test_one_form_sent_many_times_is_one_record(self, bay):
        bay.checked_in()
        now, key = bay.workshop.later(), uuid4()

        def send(index):
            return step_record(
                actor=bay.technician, job=bay.job, kind=StepKind.LABEL, raw=bay.raw(StepKind.LABEL), seen=0,
                idempotency_key=key, now=now,
            )  # fmt: skip

        assert {record.pk for record in together(send)} == {StepRecord.objects.get(kind=StepKind.LABEL).pk}

    def test_different_steps_at_once_keep_the_chain_whole(self, bay):
        bay.checked_in()
        bay.record(StepKind.LABEL)
        now = bay.workshop.later()
        kinds = [StepKind.IDENTIFICATION, StepKind.OIL_BOTTLE, StepKind.HIGH_VOLTAGE]

        def send(index):
            return step_record(
                actor=bay.technician, job=bay.job, kind=kinds[index], raw=bay.raw(kinds[index]), seen=0,
                idempotency_key=uuid4(), now=now,
            )  # fmt: skip

        assert {record.kind for record in together(send, len(kinds))} == set(kinds)
        assert list(chain_breaks(StepRecord)) == []

    def test_one_of_many_tablets_connects_a_piece(self, bay):
        bay.checked_in()
        for kind in (StepKind.LABEL, StepKind.IDENTIFICATION, StepKind.OIL_BOTTLE):
            bay.record(kind)
        now = bay.workshop.later()

        def connect(index):
            pieces = [bay.machine.pk, bay.hoses.pk]
            return job_connect(actor=bay.technician, job=bay.job, piece_ids=pieces, now=now)

        results = together(connect)

        assert sum(isinstance(result, PieceBusy) for result in results) == TABLETS - 1
        assert Connection.objects.filter(disconnected_at__isnull=True).count() == 2
        assert StepRecord.objects.filter(kind=StepKind.CONNECTION).count() == 1

    def test_one_of_many_tablets_closes_the_job(self, bay):
        bay.up_to_purge()
        bay.workshop.purge(bay.machine, bay.hoses)
        now = bay.workshop.later()

        def close(index):
            return job_close(
                actor=bay.technician,
                job=bay.job,
                raw=RAW[StepKind.CLOSE_OUT],
                idempotency_key=uuid4(),
                now=now,
            )

        results = together(close)

        assert sum(isinstance(result, JobNotOpen) for result in results) == TABLETS - 1
        assert StepRecord.objects.filter(kind=StepKind.CLOSE_OUT).count() == 1
