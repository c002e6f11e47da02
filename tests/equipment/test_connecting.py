"""Clearance and connection: what may touch what."""

from __future__ import annotations

import pytest
from django.db import IntegrityError, transaction

from equipment.choices import PieceKind, Verdict
from equipment.errors import PieceBusy
from equipment.incidents import Incident
from equipment.models import Clearance, Connection
from equipment.readiness import Identification
from equipment.selectors import purges_due
from equipment.services.connecting import clearance_check, pieces_connect
from shopcool.core.actors import Actor, Role
from shopcool.core.errors import NotAllowed
from shopcool.vehicles.choices import Additive, Drive, Lubricant, Refrigerant
from tests.equipment.workshop import Workshop, make_user

PAG = Lubricant.PAG
POE = Lubricant.POE


class TestHighVoltageCircuit:
    def test_accepts_pieces_that_a_purge_has_cleared(self, workshop: Workshop) -> None:
        machine, hoses = workshop.machine(), workshop.piece("H-1")
        workshop.purge(machine, hoses)

        outcome = workshop.connect(workshop.circuit(), machine, hoses)

        assert outcome.clearance.verdict == Verdict.PERMITTED
        assert {connection.piece_id for connection in outcome.connections} == {machine.pk, hoses.pk}

    def test_refuses_pieces_after_a_pag_car_until_a_purge_clears_the_whole_loop(
        self, workshop: Workshop
    ) -> None:
        # 1 % PAG in the POE of a high-voltage compressor collapses its insulation (trade training, secondary
        # source), so any trace refuses: there is no small amount that is acceptable.
        machine, hoses = workshop.machine(), workshop.piece("H-1")
        glass = workshop.piece("G-1", PieceKind.SIGHT_GLASS)
        belt_car = workshop.circuit(Drive.BELT, PAG)
        electric_car = workshop.circuit()
        workshop.purge(machine, hoses, glass)
        workshop.connect(belt_car, machine, hoses, glass, job="J-1")
        workshop.disconnect("J-1")

        refused = workshop.connect(electric_car, machine, hoses, glass, job="J-2")
        workshop.purge(machine, hoses, glass)
        permitted = workshop.connect(electric_car, machine, hoses, glass, job="J-2")

        assert refused.clearance.verdict == Verdict.REFUSED
        assert not refused.connected
        assert [reason.piece_code for reason in refused.decision.refusals] == ["G-1", "H-1", "M-1"]
        assert refused.decision.codes == {"conductive_residue"}
        assert "which conducts and can ruin" in refused.decision.refusals[0].sentence
        assert "Run a line purge with G-1 in the loop" in refused.decision.refusals[0].fix
        assert permitted.connected

    def test_refuses_a_brand_new_hose_set_as_unknown(self, workshop: Workshop) -> None:
        machine = workshop.machine()
        workshop.purge(machine)

        outcome = workshop.connect(workshop.circuit(), machine, workshop.piece("H-9"))

        assert [(reason.code, reason.piece_code) for reason in outcome.decision.refusals] == [
            ("unknown_residue", "H-9")
        ]
        assert "Unknown is not clean" in outcome.decision.refusals[0].sentence

    @pytest.mark.parametrize("injects", [True, None])
    def test_refuses_a_machine_that_can_or_might_inject_dye(
        self, workshop: Workshop, injects: bool | None
    ) -> None:
        machine = workshop.machine(injects_dye=injects)
        workshop.purge(machine)

        outcome = workshop.connect(workshop.circuit(), machine)

        assert outcome.decision.codes == {"machine_injects_dye"}

    def test_refuses_a_machine_whose_certificate_does_not_cover_high_voltage(
        self, workshop: Workshop
    ) -> None:
        machine = workshop.machine(covers_high_voltage=False)
        workshop.purge(machine)

        outcome = workshop.connect(workshop.circuit(), machine)

        assert outcome.decision.codes == {"certificate_without_high_voltage"}

    def test_applies_to_a_compressor_with_belt_and_motor_but_not_to_a_hybrid_with_a_belt(
        self, workshop: Workshop
    ) -> None:
        hoses = workshop.piece("H-1")

        dual = workshop.connect(workshop.circuit(Drive.DUAL, POE), hoses, job="J-1")
        belt_hybrid = workshop.connect(workshop.circuit(Drive.BELT, PAG), hoses, job="J-2")

        assert dual.decision.codes == {"unknown_residue"}
        assert belt_hybrid.connected

    def test_gives_every_reason_at_once(self, workshop: Workshop) -> None:
        machine = workshop.machine(refrigerant=Refrigerant.R134A, covers_high_voltage=False, injects_oil=True)
        apprentice = make_user("ada", Role.TECHNICIAN, qualified=False).as_actor()

        outcome = workshop.connect(
            workshop.circuit(), machine, actor=apprentice, identification=Identification.NOT_DONE
        )

        assert outcome.decision.codes == {
            "identification_not_done",
            "refrigerant_competence",
            "wrong_refrigerant",
            "certificate_missing",
            "certificate_without_high_voltage",
            "machine_injects_oil",
            "unknown_residue",
        }
        assert all(reason.fix and reason.source for reason in outcome.decision.reasons)


class TestInjector:
    @pytest.mark.parametrize(
        ("gas", "oil", "code"),
        [
            (Refrigerant.R1234YF, PAG, "injector_wrong_oil"),
            (Refrigerant.R134A, POE, "wrong_refrigerant"),
        ],
        ids=["right refrigerant, wrong oil", "right oil, wrong refrigerant"],
    )
    def test_is_refused_unless_labelled_for_this_refrigerant_and_this_oil(
        self, workshop: Workshop, gas: Refrigerant, oil: Lubricant, code: str
    ) -> None:
        injector = workshop.piece("I-1", PieceKind.INJECTOR, refrigerant=gas, lubricant=oil)

        outcome = workshop.connect(workshop.circuit(), injector)

        assert code in {reason.code for reason in outcome.decision.refusals}
        assert not outcome.connected


class TestDedicatedPiece:
    def test_is_refused_on_a_pag_car(self, workshop: Workshop) -> None:
        hoses = workshop.piece("H-EV", dedicated_to=POE)

        outcome = workshop.connect(workshop.circuit(Drive.BELT, PAG), hoses)

        assert "dedicated" in {reason.code for reason in outcome.decision.refusals}
        assert "would lose its dedication" in str([r.sentence for r in outcome.decision.refusals])


class TestContaminatedGas:
    def test_may_only_go_past_every_machine_into_a_cylinder_marked_for_it(self, workshop: Workshop) -> None:
        circuit = workshop.circuit(Drive.BELT, PAG, Refrigerant.R134A)
        machine = workshop.machine(refrigerant=Refrigerant.R134A)
        hoses = workshop.piece("H-1")
        cylinder = workshop.piece("C-9", PieceKind.RECOVERY_CYLINDER, is_marked_for_contaminated=True)

        foul = Identification.FAILED
        refused = workshop.connect(circuit, machine, hoses, identification=foul)
        permitted = workshop.connect(circuit, cylinder, hoses, identification=foul)

        assert "identification_failed" in refused.decision.codes
        assert permitted.connected
        hoses.state.refresh_from_db()
        assert hoses.state.unknown


class TestAdditives:
    def test_of_dye_stays_in_the_pieces_and_keeps_them_from_high_voltage(self, workshop: Workshop) -> None:
        machine, hoses = workshop.machine(), workshop.piece("H-1")
        workshop.purge(machine, hoses)
        belt_car = workshop.circuit(Drive.BELT, POE)

        warned = workshop.connect(belt_car, hoses, additives=frozenset({Additive.DYE.value}))
        workshop.disconnect()
        refused = workshop.connect(workshop.circuit(), hoses, job="J-2")

        assert "circuit_dye" in {reason.code for reason in warned.decision.warnings}
        assert refused.decision.codes == {"dye_residue"}

    def test_of_sealer_is_refused_whatever_the_drive(self, workshop: Workshop) -> None:
        machine, hoses = workshop.machine(), workshop.piece("H-1")
        workshop.purge(machine, hoses)
        sealer = frozenset({Additive.SEALER.value})

        refused = workshop.connect(workshop.circuit(Drive.BELT, POE), hoses, additives=sealer)

        (reason,) = refused.decision.refusals
        assert reason.sentence == (
            "Leak sealer is in this circuit: it hardens inside H-1, and no purge removes it."
        )

    def test_of_sealer_goes_on_in_pieces_that_hold_it_already(self, workshop: Workshop) -> None:
        machine, hoses = workshop.machine(), workshop.piece("H-1")
        workshop.purge(machine, hoses)
        belt_car, sealer = workshop.circuit(Drive.BELT, POE), frozenset({Additive.SEALER.value})
        workshop.connect(
            belt_car, hoses, additives=sealer, actor=workshop.owner, override_reason="Kept for it"
        )
        workshop.disconnect()

        warned = workshop.connect(belt_car, hoses, job="J-2", additives=sealer)
        workshop.disconnect("J-2")
        refused = workshop.connect(workshop.circuit(), hoses, job="J-3")

        assert warned.connected
        assert "circuit_sealer" in {reason.code for reason in warned.decision.warnings}
        assert refused.decision.codes == {"sealer_residue"}


class TestOverride:
    def test_needs_the_owner_and_a_reason_and_is_followed_up(self, workshop: Workshop) -> None:
        circuit, hoses = workshop.circuit(), workshop.piece("H-1")

        with pytest.raises(NotAllowed, match="Only the owner may connect against a refusal"):
            workshop.connect(circuit, hoses, override_reason="In a hurry")
        outcome = workshop.connect(
            circuit, hoses, actor=workshop.owner, override_reason="Vehicle is to be scrapped"
        )

        assert outcome.clearance.verdict == Verdict.OVERRIDDEN
        assert outcome.clearance.override_reason == "Vehicle is to be scrapped"
        assert outcome.connected
        circuit.refresh_from_db()
        assert circuit.suspected_lubricants == [Lubricant.UNKNOWN]
        assert Incident.objects.get().clearance == outcome.clearance


class TestPlace:
    def test_of_a_busy_piece_is_told_and_no_reason_puts_it_on_two_vehicles(self, workshop: Workshop) -> None:
        hoses = workshop.piece("H-1")
        workshop.connect(workshop.circuit(Drive.BELT, PAG), hoses, job="J-1")

        with pytest.raises(PieceBusy, match=r"H-1 is on job J-1\. A piece is on one vehicle at a time"):
            workshop.connect(
                workshop.circuit(Drive.BELT, PAG),
                hoses,
                job="J-2",
                actor=workshop.owner,
                override_reason="We need it",
            )

    def test_database_refuses_a_connection_without_a_clearance_of_the_same_transaction(
        self, workshop: Workshop
    ) -> None:
        circuit, hoses = workshop.circuit(), workshop.piece("H-1")
        refused = workshop.connect(circuit, hoses).clearance

        with pytest.raises(IntegrityError, match="only together with a clearance"), transaction.atomic():
            Connection.objects.create(
                piece=hoses,
                circuit=circuit,
                job_number="J-1",
                clearance=refused,
                connected_at=workshop.later(),
                connected_by_id=workshop.technician.user_id,
            )


class TestClosingPurge:
    def test_is_due_for_what_was_on_the_vehicle_unless_dedicated_or_not_purgeable(
        self, workshop: Workshop
    ) -> None:
        machine, hoses = workshop.machine(), workshop.piece("H-EV", dedicated_to=POE)
        injector = workshop.piece("I-1", PieceKind.INJECTOR, refrigerant=Refrigerant.R1234YF, lubricant=POE)
        workshop.purge(machine, hoses)
        outcome = workshop.connect(
            workshop.circuit(), machine, hoses, injector, actor=workshop.owner, override_reason="Test"
        )
        assert outcome.connected

        workshop.disconnect()
        due_before = purges_due("J-1")
        workshop.purge(machine)

        assert due_before == [machine]
        assert purges_due("J-1") == []


class TestDryRun:
    def test_decides_without_recording(self, workshop: Workshop) -> None:
        hoses = workshop.piece("H-1")
        from equipment.readiness import VisitFacts

        decision = clearance_check(
            actor=workshop.technician,
            circuit=workshop.circuit(),
            piece_ids=[hoses.pk],
            visit=VisitFacts("J-1", Identification.PASSED, oil_bottle_read=True),
            now=workshop.now,
        )

        assert decision.codes == {"unknown_residue"}
        assert not Clearance.objects.exists()

    def test_outsider_is_turned_away(self, workshop: Workshop) -> None:
        from equipment.readiness import VisitFacts

        outsider = Actor(user_id=workshop.technician.user_id, name="Nobody")
        arguments = {
            "actor": outsider,
            "circuit": workshop.circuit(),
            "piece_ids": [],
            "visit": VisitFacts("J-1"),
            "now": workshop.now,
        }

        with pytest.raises(NotAllowed, match="You may not do this"):
            clearance_check(**arguments)  # type: ignore[arg-type]
        with pytest.raises(NotAllowed, match="You may not do this"):
            pieces_connect(**arguments)  # type: ignore[arg-type]
