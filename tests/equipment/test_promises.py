"""Whatever people do, and in whatever order, the promises about equipment hold: a state machine tries."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from copy import copy
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, ClassVar

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
from equipment.incidents import Incident
from equipment.models import Clearance, Connection, Exposure, Piece, PieceState
from equipment.purging import PurgeReadings
from equipment.selectors import event_of
from equipment.services.exposures import (
    contact_declare,
    exposure_withdraw,
    piece_put_out_of_service,
    piece_return_to_service,
    pump_oil_suspect,
    residue_declare_unknown,
)
from equipment.services.purges import purge_record
from shopcool.core.records import chain_breaks
from shopcool.vehicles.choices import Additive, Drive, Lubricant
from shopcool.vehicles.models import Circuit
from tests.equipment.workshop import GOOD_PURGE, Workshop

PIECES = 5
CIRCUITS = 4
STEPS_WANTED = 5_000
LOOK_EVERY = 15

piece_numbers = st.integers(0, PIECES - 1)
circuit_numbers = st.integers(0, CIRCUITS - 1)
loops = st.sets(piece_numbers, min_size=1, max_size=3)
pairs = st.sets(piece_numbers, min_size=2, max_size=2).map(sorted)
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


@dataclass(frozen=True)
class Opening:
    """The workshop as every story finds it: clean pieces, cars outside."""

    workshop: Workshop
    pieces: tuple[Piece, ...]
    circuits: tuple[Circuit, ...]

    @classmethod
    def of(cls, workshop: Workshop) -> Opening:
        pieces = (
            workshop.machine("M-1"),
            workshop.machine("M-2"),
            workshop.piece("H-1"),
            workshop.piece("H-2", dedicated_to=Lubricant.POE),
            workshop.piece("G-1", PieceKind.SIGHT_GLASS),
        )
        workshop.purge(pieces[0], *pieces[2:])
        workshop.purge(pieces[1])
        circuits = (
            workshop.circuit(),
            workshop.circuit(Drive.DUAL),
            workshop.circuit(Drive.BELT, Lubricant.PAG),
            workshop.circuit(Drive.BELT, Lubricant.PAG),
        )
        return cls(workshop, pieces, circuits)


class Lives:
    """Every piece's exposures, read once, and what they leave behind: told without the services."""

    def __init__(self) -> None:
        self.rows: dict[int, list[tuple[Exposure, ExposureEvent]]] = defaultdict(list)
        for row in Exposure.objects.select_related("corrects"):
            event = event_of(row, row.corrects.sequence if row.corrects else None)
            self.rows[row.piece_id].append((row, event))

    def events(self, piece_id: int) -> list[ExposureEvent]:
        return [event for _row, event in self.rows[piece_id]]

    def before(self, clearance: Clearance, piece_id: int) -> Residue:
        """Return what a piece brought to a connection, without what that connection left in it."""
        return fold(self._brought(clearance, piece_id)).residue

    def after(self, clearance: Clearance, piece_id: int) -> Residue:
        """Return what was in a piece once it was on the vehicle."""
        events = (event for event in self.events(piece_id) if event.occurred_at <= clearance.occurred_at)
        return fold(events).residue

    def _brought(self, clearance: Clearance, piece_id: int) -> Iterator[ExposureEvent]:
        own = (clearance.job_number, clearance.occurred_at)
        for row, event in self.rows[piece_id]:
            if event.occurred_at <= clearance.occurred_at and (row.job_number, row.occurred_at) != own:
                yield event


class Promises(RuleBasedStateMachine):
    """Two machines, two hose sets and a sight glass among belt and high-voltage cars."""

    opening: ClassVar[Opening]
    steps: ClassVar[int] = 0

    def __init__(self) -> None:
        super().__init__()
        self.undo = transaction.atomic()
        self.undo.__enter__()

    @initialize()
    def open_workshop(self) -> None:
        self.workshop = copy(self.opening.workshop)
        self.pieces, self.circuits = self.opening.pieces, self.opening.circuits
        self.jobs = self.since_look = 0
        self.on_cars: set[str] = set()
        self.permitted: list[Clearance] = []
        self.told: set[int] = set()

    def moment(self, minutes: int) -> datetime:
        """Move the clock on and return a time that many minutes before it, not before the opening."""
        return max(self.workshop.later(5) - timedelta(minutes=minutes), self.opening.workshop.now)

    def attempt(self, action: Callable[..., Any], **arguments: Any) -> Any:
        """Do what the workshop may refuse for a good reason."""
        type(self).steps += 1
        try:
            return action(**arguments)
        except (PieceBusy, CannotWithdraw):
            return None

    @rule(circuit=circuit_numbers, chosen=loops, override=overrides)
    def connect(self, circuit: int, chosen: set[int], override: str) -> None:
        self._connect(circuit, chosen, override)

    def _connect(self, circuit: int, chosen: Iterable[int], override: str) -> Clearance | None:
        """Return the clearance when the pieces are on the vehicle now."""
        self.jobs += 1
        job = f"J-{self.jobs}"
        outcome = self.attempt(
            lambda: self.workshop.connect(
                self.circuits[circuit],
                *(self.pieces[number] for number in sorted(chosen)),
                job=job,
                actor=self.workshop.owner,
                override_reason=override,
            )
        )
        if outcome is None or not outcome.connected:
            return None
        self.on_cars.add(job)
        if outcome.decision.permitted:
            self.permitted.append(outcome.clearance)
        return outcome.clearance

    @precondition(lambda self: self.on_cars)
    @rule(data=st.data())
    def disconnect(self, data: st.DataObject) -> None:
        job = data.draw(st.sampled_from(sorted(self.on_cars)))
        self.on_cars.discard(job)
        self.attempt(lambda: self.workshop.disconnect(job))

    @rule(machine=st.integers(0, 1), chosen=loops, completed=mostly, ago=minutes_ago)
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
        self._declare(self.pieces[number].pk, residue, self.moment(ago))

    @precondition(lambda self: self.permitted)
    @rule(residue=contacts, data=st.data())
    def remember_a_contact_before_the_last_connection(self, residue: Residue, data: st.DataObject) -> None:
        last = self.permitted[-1]
        piece_id = data.draw(st.sampled_from(sorted(last.piece_ids)))
        self.workshop.later(5)
        self._declare(piece_id, residue, last.occurred_at - timedelta(minutes=1))

    @rule(circuit=circuit_numbers, pair=pairs, residue=contacts)
    def share_a_car_and_remember_a_contact_before(
        self, circuit: int, pair: list[int], residue: Residue
    ) -> None:
        shared = self._connect(circuit, pair, "Urgent")
        if shared is not None:
            self.workshop.later(5)
            self._declare(self.pieces[pair[0]].pk, residue, shared.occurred_at - timedelta(minutes=1))

    def _declare(self, piece_id: int, residue: Residue, moment: datetime) -> None:
        self.told.add(piece_id)
        self.attempt(
            contact_declare,
            actor=self.workshop.technician,
            piece_id=piece_id,
            occurred_at=moment,
            now=self.workshop.now,
            residue=residue,
            note="Told later",
        )

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

    @precondition(lambda self: self.told)
    @rule(data=st.data())
    def withdraw_last_contact(self, data: st.DataObject) -> None:
        piece_id = data.draw(st.sampled_from(sorted(self.told)))
        last = (
            Exposure.objects.filter(
                piece_id=piece_id,
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
    def promises_hold(self) -> None:
        """Look at the whole history now and then, and at the end; looking is dearer than acting."""
        self.since_look += 1
        if self.since_look == LOOK_EVERY:
            self.look()

    def look(self) -> None:
        self.since_look = 0
        lives = Lives()
        self.a_piece_is_on_one_vehicle()
        self.derived_state_is_the_fold_of_the_log(lives)
        self.nothing_is_connected_silently()
        self.unknown_is_not_clean(lives)
        with_incident = set(Incident.objects.values_list("clearance_id", flat=True))
        connections = list(Connection.objects.all())
        for clearance in Clearance.objects.exclude(verdict=Verdict.REFUSED).select_related("circuit"):
            before = {piece_id: lives.before(clearance, piece_id) for piece_id in clearance.piece_ids}
            self.a_permission_that_turned_out_wrong_has_an_incident(clearance, before, with_incident)
            aboard = {
                row.piece_id: lives.before(clearance, row.piece_id)
                for row in connections
                if self.was_aboard(row, clearance)
            }
            self.what_shares_a_circuit_shares_its_residue(clearance, before | aboard, lives)

    def a_piece_is_on_one_vehicle(self) -> None:
        holders = list(
            Connection.objects.filter(disconnected_at__isnull=True).values_list("piece_id", flat=True)
        )
        assert len(holders) == len(set(holders))

    def derived_state_is_the_fold_of_the_log(self, lives: Lives) -> None:
        for state in PieceState.objects.all():
            assert state.condition() == fold(lives.events(state.piece_id))

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
        for piece in self.pieces:
            life = lives.events(piece.pk)
            cleared = any(event.kind is ExposureKind.PURGED and event.verified for event in life)
            assert cleared or fold(life).residue.unknown

    def a_permission_that_turned_out_wrong_has_an_incident(
        self, clearance: Clearance, before: dict[int, Residue], with_incident: set[int | None]
    ) -> None:
        if clearance.verdict != Verdict.PERMITTED or not clearance.circuit.is_high_voltage:
            return
        harmful = any(residue.blocks_high_voltage for residue in before.values())
        assert not harmful or clearance.pk in with_incident

    def was_aboard(self, row: Connection, clearance: Clearance) -> bool:
        """Whether a piece was on the circuit already when others were connected to it."""
        moment = clearance.occurred_at
        ended = row.disconnected_at is not None and row.disconnected_at <= moment
        return row.circuit_id == clearance.circuit_id and row.connected_at < moment and not ended

    def what_shares_a_circuit_shares_its_residue(
        self, clearance: Clearance, before: dict[int, Residue], lives: Lives
    ) -> None:
        brought = Residue()
        for residue in before.values():
            brought = brought.joined(residue)
        for piece_id in before:
            after = lives.after(clearance, piece_id)
            assert after.joined(brought) == after

    def teardown(self) -> None:
        try:
            self.look()
            assert list(chain_breaks(Exposure)) == []
        finally:
            transaction.set_rollback(True)
            self.undo.__exit__(None, None, None)


@pytest.mark.long
@pytest.mark.django_db
def test_promises_hold_over_thousands_of_steps() -> None:
    Promises.opening = Opening.of(Workshop())

    run_state_machine_as_test(
        Promises,
        settings=settings(
            max_examples=117,
            stateful_step_count=50,
            deadline=None,
            derandomize=True,
            suppress_health_check=list(HealthCheck),
        ),
    )

    assert Promises.steps >= STEPS_WANTED
