"""Putting pieces on the vehicle of a job: the clearance decides, the job keeps the record."""

from __future__ import annotations

from decimal import Decimal

import pytest

from equipment.choices import PieceKind, Verdict
from equipment.errors import PieceBusy
from equipment.ledger import Content
from equipment.models import Clearance, Connection
from equipment.services.ledger import account_of_piece
from jobs.choices import StepKind
from jobs.errors import StepBlocked, ValuesInvalid
from jobs.models import StepRecord
from jobs.procedure import StepStatus
from jobs.services.connecting import job_clearance
from shopcool.core.errors import NotAllowed
from shopcool.vehicles.choices import Drive, Lubricant, Refrigerant
from tests.jobs.bay import BEFORE_CONNECTION, Bay


def ready(bay: Bay) -> Bay:
    """Do everything that comes before the connection."""
    bay.checked_in()
    for kind in BEFORE_CONNECTION:
        bay.record(kind)
    return bay


class TestConnecting:
    def test_before_the_procedure_is_that_far_is_refused_without_a_clearance(self, bay):
        bay.checked_in()
        bay.record(StepKind.LABEL)

        with pytest.raises(StepBlocked, match="has not been identified"):
            bay.connect()
        assert not Clearance.objects.exists()

    def test_writes_the_step_with_pieces_and_clearance(self, bay):
        ready(bay).connect()

        record = StepRecord.objects.get(kind=StepKind.CONNECTION)
        assert record.values == {"pieces": "H-1, M-1", "clearance": f"{bay.job.number}/1"}
        assert bay.state(StepKind.CONNECTION).status is StepStatus.DONE

    def test_of_a_piece_with_conductive_residue_is_refused_recorded_and_no_step(self, bay):
        # What touched PAG must not touch a high-voltage circuit (common practice).
        belt = bay.workshop.circuit(drive=Drive.BELT, lubricant=Lubricant.PAG)
        hoses = bay.workshop.piece("H-2")
        bay.workshop.connect(belt, hoses, job="J-0")
        bay.workshop.disconnect("J-0")

        outcome = ready(bay).connect(bay.machine, hoses)

        assert not outcome.connected
        assert "conductive_residue" in outcome.decision.codes
        assert Clearance.objects.get(job_number=bay.job.number).verdict == Verdict.REFUSED
        assert not StepRecord.objects.filter(kind=StepKind.CONNECTION).exists()

    def test_is_possible_after_the_purge_that_the_refusal_asked_for(self, bay):
        glass = bay.sight_glass()
        assert not ready(bay).connect(bay.machine, bay.hoses, glass).connected

        bay.workshop.purge(bay.machine, bay.hoses, glass)

        assert bay.connect(bay.machine, bay.hoses, glass).connected

    def test_against_a_refusal_is_the_owners_and_stands_on_the_record(self, bay):
        glass = bay.sight_glass()
        ready(bay)

        with pytest.raises(NotAllowed, match="Only the owner"):
            bay.connect(bay.machine, bay.hoses, glass, reason="The customer waits.")
        outcome = bay.connect(
            bay.machine, bay.hoses, glass, actor=bay.workshop.owner, reason="Glass is new, seen unpacked."
        )

        assert outcome.connected
        record = StepRecord.objects.get(kind=StepKind.CONNECTION)
        assert record.values["override_reason"] == "Glass is new, seen unpacked."
        assert record.answer["findings"][0]["code"] == "overridden"
        assert bay.situation.case.progress.tainted == ()

    def test_of_a_piece_that_is_on_another_vehicle_says_who_has_it(self, bay):
        bay.workshop.connect(bay.workshop.circuit(), bay.hoses, job="J-7")

        with pytest.raises(PieceBusy, match="H-1 is on job J-7"):
            ready(bay).connect()

    def test_asked_dry_records_nothing(self, bay):
        ready(bay)

        decision = job_clearance(
            actor=bay.technician,
            job=bay.job,
            piece_ids=[bay.machine.pk, bay.hoses.pk],
            now=bay.workshop.now,
        )

        assert decision.permitted
        assert not Clearance.objects.exists()
        assert not Connection.objects.filter(job_number=bay.job.number).exists()


class TestInjector:
    @pytest.mark.parametrize(
        ("refrigerant", "lubricant", "code"),
        [
            (Refrigerant.R1234YF, Lubricant.PAG, "injector_wrong_oil"),
            (Refrigerant.R134A, Lubricant.POE, "wrong_refrigerant"),
        ],
    )
    def test_with_the_wrong_label_is_neither_connected_nor_offered(self, bay, refrigerant, lubricant, code):
        injector = bay.workshop.piece("I-9", PieceKind.INJECTOR, refrigerant=refrigerant, lubricant=lubricant)
        bay.up_to(StepKind.EVACUATION)

        outcome = bay.connect(injector)

        assert code in outcome.decision.codes
        with pytest.raises(ValuesInvalid, match="no clearance of this job"):
            bay.record(
                StepKind.OIL,
                added="yes",
                way="INJECTOR",
                injector=str(injector.pk),
                grade="A",
                amount="10 ml",
            )


class TestDisconnecting:
    def test_writes_the_step_and_leaves_the_purge_due(self, bay):
        bay.up_to_connection().disconnect()

        assert StepRecord.objects.get(kind=StepKind.DISCONNECTION).values == {"pieces": "H-1, M-1"}
        assert bay.situation.case.progress.purges_due == ("H-1", "M-1")
        assert bay.state(StepKind.DISCONNECTION).status is StepStatus.DONE

    def test_of_nothing_is_refused(self, bay):
        ready(bay)

        with pytest.raises(StepBlocked, match="No piece is on the vehicle"):
            bay.disconnect()

    def test_is_possible_when_the_label_turns_out_wrong(self, bay):
        bay.up_to_connection()
        bay.record(StepKind.LABEL, label="DIFFERS", difference="oil is PAG")

        bay.disconnect()

        assert not bay.situation.case.progress.connected


class TestFoulGas:
    def test_leaves_the_vehicle_through_a_marked_cylinder_and_the_job_goes_on(self, bay):
        hoses = bay.workshop.piece("H-9")
        bay.workshop.purge(bay.machine, hoses)
        cylinder = bay.workshop.piece("C-9", PieceKind.RECOVERY_CYLINDER, is_marked_for_contaminated=True)
        bay.checked_in()
        bay.record(StepKind.LABEL)
        bay.record(StepKind.IDENTIFICATION, purity="25.5", hydrocarbon="72.1", other="2.4")

        refused = bay.connect(bay.machine, bay.hoses)
        assert "identification_failed" in refused.decision.codes
        assert bay.connect(hoses, cylinder).connected
        bay.record(
            StepKind.RECOVERY,
            into="MARKED_CYLINDER",
            cylinder=str(cylinder.pk),
            destination="Reclaimer, Dock 4",
        )
        held = account_of_piece(cylinder)
        assert (held.content, held.balance_kg) == (Content.CONTAMINATED, Decimal("0.48"))
        bay.disconnect()
        bay.record(StepKind.IDENTIFICATION, result="EMPTY", pressure="0 bar")
        bay.record(StepKind.OIL_BOTTLE)

        assert bay.connect().connected
        assert bay.state(StepKind.EVACUATION).may_record
        assert bay.state(StepKind.INSULATION).required
