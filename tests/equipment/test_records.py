"""The log only grows, and a change behind its back is named."""

from __future__ import annotations

from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.db import IntegrityError, connection, transaction

from equipment.models import Clearance, Connection, Exposure, PieceState, Purge
from shopcool.core.records import StreamHead, append, chain_breaks
from tests.equipment.workshop import Workshop

LOGS = [Exposure, Purge, Clearance]


@pytest.fixture
def busy_workshop(workshop: Workshop) -> Workshop:
    """A workshop with rows in every log."""
    machine, hoses = workshop.machine(), workshop.piece("H-1")
    workshop.purge(machine, hoses)
    workshop.connect(workshop.circuit(), machine, hoses)
    return workshop


def without_triggers(statement: str) -> None:
    """Run a statement as someone with the keys to the database would, behind the triggers."""
    with connection.cursor() as cursor:
        cursor.execute("SET LOCAL session_replication_role = replica")
        cursor.execute(statement)
        cursor.execute("SET LOCAL session_replication_role = DEFAULT")


class TestLog:
    @pytest.mark.parametrize("model", LOGS)
    def test_refuses_update_and_delete_by_orm_and_raw_sql(
        self, busy_workshop: Workshop, model: type[Exposure]
    ) -> None:
        refusal = pytest.raises(IntegrityError, match="never changed or deleted")

        with refusal, transaction.atomic():
            model.objects.update(recorded_by_name="Nobody")
        with refusal, transaction.atomic():
            model.objects.filter(sequence=1)._raw_delete("default")
        with refusal, transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(f"UPDATE {model._meta.db_table} SET recorded_by_name = 'Nobody'")
        with refusal, transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(f"DELETE FROM {model._meta.db_table}")
        assert model.objects.exists()

    def test_refuses_to_end_a_connection_twice_or_to_move_it(self, busy_workshop: Workshop) -> None:
        row = Connection.objects.order_by("pk").first()
        assert row is not None

        with pytest.raises(IntegrityError, match="only be ended, once"), transaction.atomic():
            Connection.objects.filter(pk=row.pk).update(job_number="J-9")
        busy_workshop.disconnect()
        with pytest.raises(IntegrityError, match="only be ended, once"), transaction.atomic():
            Connection.objects.filter(pk=row.pk).update(disconnected_at=busy_workshop.later())

    def test_appends_only_inside_a_transaction(self) -> None:
        with pytest.raises(RuntimeError, match="inside a transaction"):
            append(Exposure(), stream="x", actor=None, now=None)  # type: ignore[arg-type]

    def test_lets_a_chain_head_only_move_forward(self, busy_workshop: Workshop) -> None:
        with pytest.raises(IntegrityError, match="only moves forward"), transaction.atomic():
            StreamHead.objects.update(sequence=0)


class TestVerifyRecords:
    def test_finds_nothing_in_an_honest_workshop(self, busy_workshop: Workshop) -> None:
        out = StringIO()

        call_command("verify_records", stdout=out)

        assert "Every record holds." in out.getvalue()

    def test_names_a_row_that_was_changed(self, busy_workshop: Workshop) -> None:
        without_triggers("UPDATE equipment_purge SET circulated_kg = 0.9")

        with pytest.raises(
            CommandError, match=r"equipment_purge, stream purge:machine:\d+, row 1: its content"
        ):
            call_command("verify_records", stdout=StringIO())

    def test_names_a_row_that_was_removed(self, busy_workshop: Workshop) -> None:
        first = Exposure.objects.order_by("stream", "sequence").values_list("stream", flat=True).first()
        without_triggers(f"DELETE FROM equipment_exposure WHERE stream = '{first}' AND sequence = 1")

        found = list(chain_breaks(Exposure))

        assert [str(item) for item in found] == [
            f"equipment_exposure, stream {first}, row 2: row 1 is missing"
        ]

    def test_names_a_chain_that_lost_its_newest_row(self, busy_workshop: Workshop) -> None:
        last = Exposure.objects.order_by("-stream", "-sequence").first()
        assert last is not None
        without_triggers(f"DELETE FROM equipment_exposure WHERE id = {last.pk}")

        found = list(chain_breaks(Exposure))

        assert [item.finding for item in found] == ["the newest rows are missing"]

    def test_names_a_derived_state_that_differs_and_rebuilds_it(self, busy_workshop: Workshop) -> None:
        PieceState.objects.filter(piece__code="H-1").update(lubricants=["PAG"])

        with pytest.raises(CommandError, match="state of H-1 differs from its log"):
            call_command("verify_records", stdout=StringIO())
        out = StringIO()
        call_command("residue_rebuild", stdout=out)

        assert "1 states were rebuilt." in out.getvalue()
        call_command("verify_records", stdout=StringIO())
