"""Late entries are honest: folded in at their time, and what came after is judged again."""

from __future__ import annotations

from datetime import timedelta

import pytest

from equipment.choices import ExposureKind, IncidentStatus, PieceKind
from equipment.errors import CannotWithdraw, ContactUnclear, NotInThePast, PieceBusy, ReasonMissing
from equipment.exposure import Residue
from equipment.incidents import Incident
from equipment.models import Exposure
from equipment.purging import PurgeReadings
from equipment.selectors import condition_as_of
from equipment.services.exposures import (
    contact_declare,
    exposure_withdraw,
    piece_inspect,
    piece_put_out_of_service,
    piece_return_to_service,
    pump_oil_suspect,
    residue_declare_unknown,
)
from equipment.services.incidents import incident_close
from shopcool.core.errors import Conflict, NotAllowed
from shopcool.vehicles.choices import Additive, Drive, Lubricant
from tests.equipment.workshop import GOOD_PURGE, Workshop

PAG = Residue(lubricants=frozenset({Lubricant.PAG.value}))


class TestSharing:
    def test_of_a_circuit_begins_for_what_is_on_it_when_another_piece_comes(self, workshop: Workshop) -> None:
        machine, hoses, late_comer = workshop.machine(), workshop.piece("H-1"), workshop.piece("H-2")
        workshop.purge(machine, hoses)
        circuit = workshop.circuit(Drive.BELT, Lubricant.POE)
        workshop.connect(circuit, machine, hoses, job="J-1")
        assert not condition_as_of(machine.pk, workshop.now).residue.unknown

        workshop.connect(circuit, late_comer, job="J-1")

        shared = Exposure.objects.filter(note="Shared the circuit with H-2, connected later.")
        assert sorted(shared.values_list("piece__code", flat=True)) == ["H-1", "M-1"]
        assert condition_as_of(machine.pk, workshop.now).residue.unknown

    def test_of_a_circuit_reaches_a_piece_that_is_connected_later(self, workshop: Workshop) -> None:
        machine, unknown, clean = workshop.machine(), workshop.piece("H-1"), workshop.piece("H-2")
        workshop.purge(machine, clean)
        circuit = workshop.circuit(Drive.BELT, Lubricant.POE)
        workshop.connect(circuit, unknown, job="J-1")

        workshop.connect(circuit, clean, job="J-1")

        assert condition_as_of(clean.pk, workshop.now).residue.unknown

    def test_is_known_late_for_what_came_later_while_the_piece_was_still_on(self, workshop: Workshop) -> None:
        machine, hoses, glass = workshop.machine(), workshop.piece("H-1"), workshop.piece("H-2")
        workshop.purge(machine, hoses, glass)
        forgotten = workshop.later()
        circuit = workshop.circuit()
        workshop.connect(circuit, hoses, job="J-1")
        workshop.connect(circuit, machine, glass, job="J-1")
        workshop.disconnect("J-1")
        workshop.connect(workshop.circuit(), glass, job="J-2")

        recorded = contact_declare(
            actor=workshop.technician,
            piece_id=hoses.pk,
            occurred_at=forgotten,
            now=workshop.later(),
            residue=PAG,
            note="Used on the yellow van without booking it",
        )

        assert Lubricant.PAG in condition_as_of(glass.pk, workshop.now).residue.lubricants
        assert {incident.job_number for incident in recorded.incidents} == {"J-1", "J-2"}

    def test_does_not_reach_what_came_after_the_piece_was_off(self, workshop: Workshop) -> None:
        machine, hoses, glass = workshop.machine(), workshop.piece("H-1"), workshop.piece("H-2")
        workshop.purge(machine, hoses, glass)
        forgotten = workshop.later()
        circuit = workshop.circuit(Drive.BELT, Lubricant.POE)
        workshop.connect(circuit, hoses, job="J-1")
        workshop.disconnect("J-1")
        workshop.connect(circuit, glass, job="J-2")

        contact_declare(
            actor=workshop.technician,
            piece_id=hoses.pk,
            occurred_at=forgotten,
            now=workshop.later(),
            residue=PAG,
            note="Used on the yellow van without booking it",
        )

        assert condition_as_of(glass.pk, workshop.now).residue.lubricants == {Lubricant.POE}

    @pytest.mark.parametrize("minutes_ago", [0, 5])
    def test_of_something_that_happens_on_a_vehicle_reaches_the_others_on_it(
        self, workshop: Workshop, minutes_ago: int
    ) -> None:
        machine, hoses = workshop.machine(), workshop.piece("H-1")
        workshop.purge(machine, hoses)
        workshop.connect(workshop.circuit(), machine, hoses, job="J-1")
        now = workshop.later()

        recorded = pump_oil_suspect(
            actor=workshop.technician,
            piece_id=hoses.pk,
            occurred_at=now - timedelta(minutes=minutes_ago),
            now=now,
        )

        assert condition_as_of(machine.pk, now).residue.unknown
        # What is told at once stops the job; what is told late may have harmed the vehicle already.
        assert [incident.job_number for incident in recorded.incidents] == (["J-1"] if minutes_ago else [])


class TestLateContact:
    def test_raises_an_incident_for_the_vehicle_it_should_have_kept_away(self, workshop: Workshop) -> None:
        machine, hoses, circuit = workshop.machine(), workshop.piece("H-1"), workshop.circuit()
        workshop.purge(machine, hoses)
        forgotten = workshop.later()
        permitted = workshop.connect(circuit, machine, hoses)
        assert permitted.connected

        recorded = contact_declare(
            actor=workshop.technician,
            piece_id=hoses.pk,
            occurred_at=forgotten,
            now=workshop.later(),
            residue=PAG,
            note="Used on the yellow van without booking it",
        )

        (incident,) = recorded.incidents
        assert incident.clearance == permitted.clearance
        assert incident.circuit == circuit
        assert [reason["code"] for reason in incident.reasons] == ["conductive_residue"]
        circuit.refresh_from_db()
        assert circuit.suspected_lubricants == [Lubricant.PAG]

    def test_leaves_every_suspicion_it_raised_on_the_way(self, workshop: Workshop) -> None:
        machine, hoses, circuit = workshop.machine(), workshop.piece("H-1"), workshop.circuit()
        workshop.purge(machine, hoses)
        forgotten = workshop.later()
        for job in ("J-1", "J-2"):
            workshop.connect(circuit, hoses, job=job)
            workshop.disconnect(job)
            workshop.purge(machine, hoses)

        recorded = contact_declare(
            actor=workshop.technician,
            piece_id=hoses.pk,
            occurred_at=forgotten,
            now=workshop.later(),
            residue=PAG.joined(Residue(additives=frozenset({Additive.SEALER.value}))),
            note="Used on the yellow van, which had a leak sealed",
        )

        # The purge between the two took the oil out and left the sealer.
        assert {incident.job_number for incident in recorded.incidents} == {"J-1", "J-2"}
        circuit.refresh_from_db()
        assert circuit.suspected_lubricants == [Lubricant.PAG]

    def test_is_carried_to_everything_that_shared_the_circuit(self, workshop: Workshop) -> None:
        machine, hoses = workshop.machine(), workshop.piece("H-1")
        first, second = workshop.circuit(), workshop.circuit()
        workshop.purge(machine, hoses)
        forgotten = workshop.later()
        workshop.connect(first, machine, hoses, job="J-1")
        workshop.disconnect("J-1")
        workshop.connect(second, machine, job="J-2")

        recorded = contact_declare(
            actor=workshop.technician,
            piece_id=hoses.pk,
            occurred_at=forgotten,
            now=workshop.later(),
            residue=PAG,
            note="Hoses were lent to the neighbour's bay",
        )

        # The machine was together with the hoses on the first car and went on to the second.
        assert {incident.job_number for incident in recorded.incidents} == {"J-1", "J-2"}
        machine.state.refresh_from_db()
        assert Lubricant.PAG in machine.state.lubricants

    def test_before_a_purge_changes_nothing(self, workshop: Workshop) -> None:
        machine, hoses = workshop.machine(), workshop.piece("H-1")
        forgotten = workshop.later()
        workshop.purge(machine, hoses)
        workshop.connect(workshop.circuit(), machine, hoses)

        recorded = contact_declare(
            actor=workshop.technician,
            piece_id=hoses.pk,
            occurred_at=forgotten,
            now=workshop.later(),
            residue=PAG,
            note="Found on the old sheet",
        )

        assert recorded.incidents == ()
        assert condition_as_of(hoses.pk, forgotten).residue.lubricants == {Lubricant.PAG}
        hoses.state.refresh_from_db()
        assert Lubricant.PAG not in hoses.state.lubricants

    def test_of_sealer_in_the_machine_refutes_the_purges_it_did_since(self, workshop: Workshop) -> None:
        machine, hoses = workshop.machine(), workshop.piece("H-1")
        forgotten = workshop.later()
        purge = workshop.purge(machine, hoses).purge
        clean_machine = workshop.machine("M-2")
        workshop.purge(clean_machine)
        workshop.connect(workshop.circuit(), clean_machine, hoses)

        recorded = contact_declare(
            actor=workshop.technician,
            piece_id=machine.pk,
            occurred_at=forgotten,
            now=workshop.later(),
            residue=Residue(additives=frozenset({Additive.SEALER.value})),
            note="The customer now says that sealer was in that car",
        )

        assert {incident.job_number for incident in recorded.incidents} == {"J-1"}
        corrected = Exposure.objects.get(piece=hoses, purge=purge, corrects__isnull=False)
        assert not corrected.verified
        assert "could not clear the loop" in corrected.note


class TestPumpOil:
    def test_suspected_makes_a_clear_hose_unknown(self, workshop: Workshop) -> None:
        # A stopped pump with an open valve lets its oil creep towards the vacuum (maker's service text).
        machine, hoses = workshop.machine(), workshop.piece("H-1")
        workshop.purge(machine, hoses)

        now = workshop.later()
        pump_oil_suspect(actor=workshop.technician, piece_id=hoses.pk, occurred_at=now, now=now)

        assert workshop.connect(workshop.circuit(), machine, hoses).decision.codes == {"unknown_residue"}


class TestPurge:
    @pytest.mark.parametrize(
        ("readings", "code"),
        [
            (PurgeReadings(0.5, 300.0, 2_000.0, completed=False), "not_completed"),
            (PurgeReadings(None, 300.0, 2_000.0, completed=True), "mass_not_read"),
            (PurgeReadings(0.1, 300.0, 2_000.0, completed=True), "too_little_mass"),
            (PurgeReadings(0.5, None, 2_000.0, completed=True), "duration_not_read"),
            (PurgeReadings(0.5, 60.0, 2_000.0, completed=True), "too_short"),
            (PurgeReadings(0.5, 300.0, None, completed=True), "vacuum_not_read"),
            (PurgeReadings(0.5, 300.0, 60_000.0, completed=True), "vacuum_too_weak"),
        ],
    )
    def test_that_misses_a_reading_clears_nothing(
        self, workshop: Workshop, readings: PurgeReadings, code: str
    ) -> None:
        machine, hoses = workshop.machine(), workshop.piece("H-1")

        outcome = workshop.purge(machine, hoses, readings=readings)

        assert [finding.code for finding in outcome.findings] == [code]
        hoses.state.refresh_from_db()
        assert hoses.state.unknown

    def test_that_does_not_count_soils_what_stood_in_its_loop(self, workshop: Workshop) -> None:
        machine, glass = workshop.machine(), workshop.piece("G-1", PieceKind.SIGHT_GLASS)
        workshop.purge(machine, glass)
        workshop.connect(workshop.circuit(Drive.BELT, Lubricant.PAG), machine)
        workshop.disconnect()

        workshop.purge(machine, glass, readings=PurgeReadings(0.5, 300.0, 2_000.0, completed=False))

        glass.state.refresh_from_db()
        assert glass.state.lubricants == [Lubricant.PAG]

    def test_is_impossible_while_a_piece_is_on_a_vehicle(self, workshop: Workshop) -> None:
        machine, hoses = workshop.machine(), workshop.piece("H-1")
        workshop.connect(workshop.circuit(Drive.BELT, Lubricant.PAG), hoses)

        with pytest.raises(PieceBusy, match="H-1 was on job J-1 then"):
            workshop.purge(machine, hoses)


class TestService:
    def test_out_of_service_keeps_a_piece_away_until_the_owner_returns_it(self, workshop: Workshop) -> None:
        hoses, belt = workshop.piece("H-1"), workshop.circuit(Drive.BELT, Lubricant.PAG)
        piece_put_out_of_service(
            actor=workshop.technician, piece_id=hoses.pk, reason="Coupler leaks", now=workshop.later()
        )

        refused = workshop.connect(belt, hoses)
        with pytest.raises(NotAllowed, match="Ask the owner"):
            piece_return_to_service(
                actor=workshop.technician, piece_id=hoses.pk, reason="Looks fine", now=workshop.later()
            )
        piece_return_to_service(
            actor=workshop.owner, piece_id=hoses.pk, reason="Coupler replaced", now=workshop.later()
        )

        assert "H-1 is out of service: Coupler leaks" in refused.decision.refusals[0].sentence
        assert workshop.connect(belt, hoses).connected


class TestWithdrawal:
    def test_by_the_owner_restores_what_was_true_and_stays_readable(self, workshop: Workshop) -> None:
        machine, hoses = workshop.machine(), workshop.piece("H-1")
        workshop.purge(machine, hoses)
        now = workshop.later()
        wrong = contact_declare(
            actor=workshop.technician, piece_id=hoses.pk, occurred_at=now, now=now, residue=PAG, note="Oops"
        ).exposure

        with pytest.raises(NotAllowed, match="Ask the owner"):
            exposure_withdraw(
                actor=workshop.technician, exposure=wrong, reason="Wrong piece", now=workshop.later()
            )
        exposure_withdraw(actor=workshop.owner, exposure=wrong, reason="Wrong piece", now=workshop.later())

        hoses.state.refresh_from_db()
        assert hoses.state.lubricants == []
        assert Exposure.objects.get(pk=wrong.pk).corrected_by.note == "Wrong piece"
        with pytest.raises(CannotWithdraw, match="withdrawn already"):
            exposure_withdraw(actor=workshop.owner, exposure=wrong, reason="Again", now=workshop.later())

    def test_of_a_purge_is_refused(self, workshop: Workshop) -> None:
        machine = workshop.machine()
        purge = workshop.purge(machine).purge

        with pytest.raises(CannotWithdraw, match="Add a new entry that tells what is true"):
            exposure_withdraw(
                actor=workshop.owner, exposure=purge.exposures.get(), reason="No", now=workshop.later()
            )


class TestEntry:
    def test_can_not_lie_in_the_future(self, workshop: Workshop) -> None:
        hoses = workshop.piece("H-1")

        with pytest.raises(NotInThePast, match="later than now"):
            pump_oil_suspect(
                actor=workshop.technician,
                piece_id=hoses.pk,
                occurred_at=workshop.now + timedelta(minutes=1),
                now=workshop.now,
            )

    def test_says_why(self, workshop: Workshop) -> None:
        hoses = workshop.piece("H-1")
        arguments = {"piece_id": hoses.pk, "occurred_at": workshop.now, "now": workshop.now, "note": "  "}

        with pytest.raises(ReasonMissing, match="what the piece touched"):
            contact_declare(actor=workshop.technician, residue=PAG, **arguments)  # type: ignore[arg-type]
        with pytest.raises(ContactUnclear, match="which circuit, oil, gas or additive"):
            contact_declare(actor=workshop.technician, **(arguments | {"note": "Somewhere"}))  # type: ignore[arg-type]
        with pytest.raises(ReasonMissing, match="where the piece has been"):
            residue_declare_unknown(actor=workshop.technician, **arguments)  # type: ignore[arg-type]
        with pytest.raises(ReasonMissing, match="how the piece was inspected"):
            piece_inspect(actor=workshop.owner, residue=Residue(), **arguments)  # type: ignore[arg-type]

    def test_made_a_moment_too_late_asks_to_look_again(self, workshop: Workshop) -> None:
        machine, hoses = workshop.machine(), workshop.piece("H-1")
        workshop.purge(machine, hoses)
        overtaken = workshop.now - timedelta(seconds=1)

        with pytest.raises(Conflict, match=r"a moment ago\. Look again"):
            piece_put_out_of_service(
                actor=workshop.technician, piece_id=hoses.pk, reason="Leaks", now=overtaken
            )


class TestIncident:
    def test_is_closed_by_the_owner_and_lifts_the_suspicion_when_nothing_else_is_open(
        self, workshop: Workshop
    ) -> None:
        circuit, hoses = workshop.circuit(), workshop.piece("H-1")
        workshop.connect(circuit, hoses, actor=workshop.owner, override_reason="Emergency")
        incident = Incident.objects.get()

        with pytest.raises(NotAllowed, match="Ask the owner"):
            incident_close(
                actor=workshop.technician,
                incident=incident,
                resolution="Measured",
                circuit_is_clean=True,
                now=workshop.later(),
            )
        incident_close(
            actor=workshop.owner,
            incident=incident,
            resolution="Oil replaced, insulation measured",
            circuit_is_clean=True,
            now=workshop.later(),
        )

        incident.refresh_from_db()
        circuit.refresh_from_db()
        assert incident.status == IncidentStatus.CLOSED
        assert circuit.suspected_lubricants == []
        with pytest.raises(Conflict, match="closed already"):
            incident_close(
                actor=workshop.owner,
                incident=incident,
                resolution="Twice",
                circuit_is_clean=False,
                now=workshop.later(),
            )


def test_purge_after_the_fact_is_folded_in_at_its_time(workshop: Workshop) -> None:
    machine, hoses = workshop.machine(), workshop.piece("H-1")
    forgotten = workshop.later()
    now = workshop.later()
    contact_declare(
        actor=workshop.technician, piece_id=hoses.pk, occurred_at=now, now=now, residue=PAG, note="Belt car"
    )

    workshop.purge(machine, hoses, at=forgotten, readings=GOOD_PURGE)

    hoses.state.refresh_from_db()
    assert hoses.state.lubricants == [Lubricant.PAG]
    assert not hoses.state.unknown
    assert Exposure.objects.filter(piece=hoses).latest("sequence").kind == ExposureKind.PURGED
