"""What a recorded step, or its correction, does to the equipment on the vehicle."""

from __future__ import annotations

from decimal import Decimal
from uuid import uuid4

import pytest

from equipment.choices import PieceKind
from equipment.models import Exposure, PieceState
from equipment.services.ledger import account_of_circuit, account_of_piece
from jobs.choices import StepKind
from jobs.services.steps import step_correct
from tests.jobs.bay import Bay

pytestmark = pytest.mark.django_db

FOUL = {"purity": "25.5", "hydrocarbon": "72.1", "other": "2.4"}


def correct(bay, record, **changes):
    """Correct a record as the technician would."""
    return step_correct(
        actor=bay.technician,
        record=record,
        raw=bay.raw(StepKind(record.kind), **changes),
        reason="misread",
        idempotency_key=uuid4(),
        now=bay.workshop.later(),
    )


def entries(kind):
    """Return the codes of the pieces with an exposure of a kind that a step wrote."""
    rows = Exposure.objects.filter(kind=kind, note__contains="job").order_by("piece__code")
    return list(rows.values_list("piece__code", flat=True))


class TestIdentification:
    def test_that_fails_after_the_connection_makes_everything_on_the_vehicle_unknown(self, bay: Bay):
        bay.up_to_connection()
        assert not PieceState.objects.get(piece=bay.hoses).unknown

        bay.record(StepKind.IDENTIFICATION, **FOUL)

        assert PieceState.objects.get(piece=bay.hoses).unknown
        assert entries("RESIDUE_UNKNOWN") == ["H-1", "M-1"]

    def test_that_is_corrected_to_failed_does_the_same_once(self, bay: Bay):
        bay.up_to_connection()
        passed = bay.situation.standing[2]
        assert passed.kind == StepKind.IDENTIFICATION

        failed = correct(bay, passed, **FOUL)
        correct(bay, failed, **FOUL | {"purity": "26", "other": "1.9"})

        assert entries("RESIDUE_UNKNOWN") == ["H-1", "M-1"]


class TestEvacuation:
    def test_corrected_to_an_open_valve_taints_what_is_connected(self, bay: Bay):
        bay.up_to(StepKind.EVACUATION)
        held = next(record for record in bay.situation.standing if record.kind == StepKind.EVACUATION)
        assert entries("PUMP_OIL_SUSPECTED") == []

        correct(bay, held, valve_closed_first="no")

        assert entries("PUMP_OIL_SUSPECTED") == ["H-1", "M-1"]


class TestRecovery:
    @pytest.mark.parametrize("mass", ["0.3 kg", "0.6 kg"])
    def test_of_foul_gas_corrected_books_the_difference(self, bay: Bay, mass: str):
        cylinder = bay.workshop.piece("C-9", PieceKind.RECOVERY_CYLINDER, is_marked_for_contaminated=True)
        bay.checked_in()
        bay.record(StepKind.LABEL)
        bay.record(StepKind.IDENTIFICATION, **FOUL)
        assert bay.connect(bay.hoses, cylinder).connected
        where = {"into": "MARKED_CYLINDER", "cylinder": str(cylinder.pk), "destination": "Reclaimer, Dock 4"}
        recovered = bay.record(StepKind.RECOVERY, **where)

        correct(bay, recovered, **where, mass=mass)

        held = account_of_piece(cylinder)
        assert held.balance_kg == Decimal(mass.split()[0])
        assert account_of_circuit(bay.job.circuit).balance_kg == -held.balance_kg
        assert held.given.count() + held.taken.count() == 2
