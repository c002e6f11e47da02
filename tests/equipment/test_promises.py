"""Whatever people do, and in whatever order, the promises about equipment hold: a state machine tries."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

import pytest
from django.db import transaction
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from equipment.choices import ExposureKind, PieceKind, Verdict
from equipment.errors import CannotWithdraw, PieceBusy
from equipment.exposure import ExposureEvent, Residue, fold
from equipment.models import Clearance, Connection, Exposure, Incident, PieceState
from equipment.purging import PurgeReadings
from equipment.selectors import events_of
from equipment.services.exposures import (
    contact_declare,
    exposure_withdraw,
    piece_put_out_of_service,
    piece_return_to_service,
    pump_oil_suspect,
    residue_declare_unknown,
)
from equipment.services.purges import purge_record
from equipment.services.rejudging import condition_before
from shopcool.core.records import chain_breaks
from shopcool.vehicles.choices import Additive, Drive, Lubricant
from tests.equipment.workshop import GOOD_PURGE, Workshop

PIECES = 5
CIRCUITS = 4
STEPS_WANTED = 5_000
LOOK_EVERY = 12

Lives = dict[int, list[ExposureEvent]]

piece_numbers = st.integers(0, PIECES - 1)
loops = st.sets(piece_numbers, min_size=1, max_size=3)
overrides = st.sampled_from(["", "", "", "Urgent"])
mostly = st.sampled_from([True, True, False])
minutes_ago = st.sampled_from([0, 0, 0, 5, 15, 45, 120])
contacts = st.sampled_from(
    [
        Residue(lubricants=frozenset({Lubricant.PAG.value})),
        Residue(lubricants=frozenset({Lubricant.POE.value})),
        Residue(additives=frozenset({Additive.DYE.value})),
        Residue(additives=frozenset({Additive.SEALER.value})),
        Residue(unknown=True),
    ]
)


class Promises(RuleBasedStateMachine):
    """Two machines, two hose sets and a sight glass among belt and high-voltage cars."""

    steps = 0

    def __init__(self) -> None:
        super().__init__()
        self.undo = transaction.atomic()
        self.undo.__enter__()

    @initialize()
    def open_workshop(self) -> None:
        self.workshop = Workshop()
        self.pieces = [
            self.workshop.machine("M-1"),
            self.workshop.machine("M-2"),
            self.workshop.piece("H-1"),
            self.workshop.piece("H-2", dedicated_to=Lubricant.POE),
            self.workshop.piece("G-1", PieceKind.SIGHT_GLASS),
        ]
        self.circuits = [
            self.workshop.circuit(),
            self.workshop.circuit(Drive.DUAL),
            self.workshop.circuit(Drive.BELT, Lubricant.PAG),
            self.workshop.circuit(Drive.BELT, Lubricant.PAG),
        ]
        self.workshop.purge(*self.pieces[:1], *self.pieces[2:])
        self.workshop.purge(self.pieces[1])
        self.opened = self.workshop.now
        self.jobs = 0

    def moment(self, minutes: int) -> datetime:
        """Move the clock on and return a time that many minutes before it, not before the opening."""
        return max(self.workshop.later(5) - timedelta(minutes=minutes), self.opened)

    def attempt(self, action: Callable[..., Any], **arguments: Any) -> Any:
        """Do what the workshop may refuse for a good reason."""
        type(self).steps += 1
        try:
            return action(**arguments)
        except (PieceBusy, CannotWithdraw):
            return None

    @rule(circuit=st.integers(0, CIRCUITS - 1), chosen=loops, override=overrides)
    def connect(self, circuit: int, chosen: set[int], override: str) -> None:
        self.jobs += 1
        self.attempt(
            lambda: self.workshop.connect(
                self.circuits[circuit],
                *(self.pieces[number] for number in sorted(chosen)),
                job=f"J-{self.jobs}",
                actor=self.workshop.owner,
                override_reason=override,
            )
        )

    @precondition(lambda self: Connection.objects.filter(disconnected_at__isnull=True).exists())
    @rule(data=st.data())
    def disconnect(self, data: st.DataObject) -> None:
        open_jobs = Connection.objects.filter(disconnected_at__isnull=True).order_by("job_number")
        job = data.draw(st.sampled_from(sorted(set(open_jobs.values_list("job_number", flat=True)))))
        self.attempt(lambda: self.workshop.disconnect(job))

    @rule(
        machine=st.integers(0, 1),
        chosen=loops,
        completed=mostly,
        ago=minutes_ago,
    )
    def purge(self, machine: int, chosen: set[int], completed: bool, ago: int) -> None:
        moment = self.moment(ago)
        self.attempt(
            purge_record,
            actor=self.workshop.technician,
            machine_id=self.pieces[machine].pk,
            piece_ids=[self.pieces[number].pk for number in sorted(chosen)],
            readings=GOOD_PURGE if completed else PurgeReadings(0.1, 60.0, None, completed=False),
            occurred_at=moment,
            now=self.workshop.now,
        )

    @rule(number=piece_numbers, residue=contacts, ago=minutes_ago)
    def declare_contact(self, number: int, residue: Residue, ago: int) -> None:
        moment = self.moment(ago)
        self.attempt(
            contact_declare,
            actor=self.workshop.technician,
            piece_id=self.pieces[number].pk,
            occurred_at=moment,
            now=self.workshop.now,
            residue=residue,
            note="Told later",
        )

    @precondition(lambda self: self.last_permitted() is not None)
    @rule(residue=contacts, data=st.data())
    def remember_a_contact_before_the_last_connection(self, residue: Residue, data: st.DataObject) -> None:
        clearance = self.last_permitted()
        assert clearance is not None
        self.attempt(
            contact_declare,
            actor=self.workshop.technician,
            piece_id=data.draw(st.sampled_from(sorted(clearance.piece_ids))),
            occurred_at=clearance.occurred_at - timedelta(minutes=1),
            now=self.workshop.later(5),
            residue=residue,
            note="Remembered later",
        )

    def last_permitted(self) -> Clearance | None:
        return Clearance.objects.filter(verdict=Verdict.PERMITTED).order_by("-occurred_at").first()

    @rule(
        number=piece_numbers,
        service=st.sampled_from([pump_oil_suspect, residue_declare_unknown]),
        ago=minutes_ago,
    )
    def lose_track(self, number: int, service: Callable[..., Any], ago: int) -> None:
        moment = self.moment(ago)
        self.attempt(
            service,
            actor=self.workshop.technician,
            piece_id=self.pieces[number].pk,
            occurred_at=moment,
            now=self.workshop.now,
            note="Power was lost",
        )

    @rule(number=piece_numbers, service=st.sampled_from([piece_put_out_of_service, piece_return_to_service]))
    def change_service(self, number: int, service: Callable[..., Any]) -> None:
        now = self.workshop.later(5)
        self.attempt(
            service, actor=self.workshop.owner, piece_id=self.pieces[number].pk, reason="Coupler", now=now
        )

    @rule(number=piece_numbers)
    def withdraw_last_contact(self, number: int) -> None:
        last = (
            Exposure.objects.filter(
                piece=self.pieces[number],
                kind=ExposureKind.CONTACT_DECLARED,
                recorded_by__isnull=False,
                corrected_by__isnull=True,
            )
            .order_by("-sequence")
            .first()
        )
        now = self.workshop.later(5)
        if last is not None:
            self.attempt(
                exposure_withdraw, actor=self.workshop.owner, exposure=last, reason="Wrong piece", now=now
            )

    @invariant()
    def a_piece_is_on_one_vehicle(self) -> None:
        holders = list(
            Connection.objects.filter(disconnected_at__isnull=True).values_list("piece_id", flat=True)
        )
        assert len(holders) == len(set(holders))

    @invariant()
    def promises_hold(self) -> None:
        """Look at the whole history now and then, and at the end; looking is dearer than acting."""
        self.since_look = getattr(self, "since_look", 0) + 1
        if self.since_look == LOOK_EVERY:
            self.look()

    def look(self) -> None:
        self.since_look = 0
        lives = {piece.pk: events_of(piece.pk) for piece in self.pieces}
        self.derived_state_is_the_fold_of_the_log(lives)
        self.nothing_is_connected_silently()
        self.unknown_is_not_clean(lives)
        for clearance in Clearance.objects.exclude(verdict=Verdict.REFUSED).select_related("circuit"):
            before = {
                piece_id: condition_before(clearance, piece_id).residue for piece_id in clearance.piece_ids
            }
            self.a_permission_that_turned_out_wrong_has_an_incident(clearance, before)
            self.what_shares_a_circuit_shares_its_residue(clearance, before, lives)

    def derived_state_is_the_fold_of_the_log(self, lives: Lives) -> None:
        for state in PieceState.objects.all():
            assert state.condition() == fold(lives[state.piece_id])

    def nothing_is_connected_silently(self) -> None:
        for row in Connection.objects.select_related("clearance"):
            clearance = row.clearance
            assert row.piece_id in clearance.piece_ids
            assert clearance.circuit_id == row.circuit_id
            refusals = [item for item in clearance.reasons if item["severity"] == "REFUSAL"]
            if clearance.verdict == Verdict.PERMITTED:
                assert refusals == []
            else:
                assert clearance.verdict == Verdict.OVERRIDDEN
                assert clearance.override_reason

    def unknown_is_not_clean(self, lives: Lives) -> None:
        for life in lives.values():
            cleared = any(event.kind is ExposureKind.PURGED and event.verified for event in life)
            assert cleared or fold(life).residue.unknown

    def a_permission_that_turned_out_wrong_has_an_incident(
        self, clearance: Clearance, before: dict[int, Residue]
    ) -> None:
        if clearance.verdict != Verdict.PERMITTED or not clearance.circuit.is_high_voltage:
            return
        harmful = any(residue.blocks_high_voltage for residue in before.values())
        assert not harmful or Incident.objects.filter(clearance=clearance).exists()

    def what_shares_a_circuit_shares_its_residue(
        self, clearance: Clearance, before: dict[int, Residue], lives: Lives
    ) -> None:
        brought = frozenset().union(*(residue.lubricants for residue in before.values()))
        for piece_id in clearance.piece_ids:
            after = [item for item in lives[piece_id] if item.occurred_at <= clearance.occurred_at]
            assert brought <= fold(after).residue.lubricants

    def teardown(self) -> None:
        try:
            self.look()
            assert list(chain_breaks(Exposure)) == []
        finally:
            transaction.set_rollback(True)
            self.undo.__exit__(None, None, None)


@pytest.mark.django_db
def test_promises_hold_over_thousands_of_steps() -> None:
    run_state_machine_as_test(
        Promises,
        settings=settings(
            max_examples=140,
            stateful_step_count=50,
            deadline=None,
            derandomize=True,
            suppress_health_check=list(HealthCheck),
        ),
    )

    assert Promises.steps >= STEPS_WANTED
