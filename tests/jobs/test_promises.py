"""No sequence of allowed actions closes a job without its required steps, the closing purge included."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, rule

from equipment.choices import PieceKind
from jobs.choices import JobStatus, ServiceKind, StepKind
from jobs.procedure import DERIVED, Outcome, StepStatus
from shopcool.vehicles.choices import Drive, Lubricant
from tests.jobs.visit import ELECTRIC, GOOD, Visit

RECORDED = [kind for kind in StepKind if kind not in DERIVED | {StepKind.CLOSE_OUT}]
BAD = {
    StepKind.LABEL: (Outcome.MISMATCH, False),
    StepKind.HIGH_VOLTAGE: (Outcome.NOT_SAFE, False),
    StepKind.IDENTIFICATION: (Outcome.FAILED, True),
    StepKind.OIL_BOTTLE: (Outcome.NOT_DONE, False),
    StepKind.READINGS_BEFORE: (Outcome.RUNNING, True),
    StepKind.INSULATION: (Outcome.FAILED, True),
    StepKind.RECOVERY: (Outcome.NOT_DONE, False),
    StepKind.EVACUATION: (Outcome.NOT_HELD, False),
    StepKind.CHARGE: (Outcome.OUT_OF_TOLERANCE, False),
    StepKind.READINGS_AFTER: (Outcome.RUNNING, True),
    StepKind.LEAK_CHECK: (Outcome.LEAK_FOUND, True),
}
MACHINE = (PieceKind.MACHINE, PieceKind.HOSE_SET)
MARKED = (PieceKind.HOSE_SET, PieceKind.RECOVERY_CYLINDER)
LOADS = [MACHINE, MARKED, (PieceKind.MANIFOLD,), (PieceKind.INJECTOR,)]
CONNECT, DISCONNECT, PURGE = "CONNECT", "DISCONNECT", "PURGE"


class Story:
    """What happened, told without the procedure, so that it can contradict it."""

    def __init__(self) -> None:
        self.entries: list[tuple[str, Outcome | None, bool]] = []

    def tell(self, what: str, outcome: Outcome | None = None, well: bool = True) -> None:
        self.entries.append((what, outcome, well))

    def at(self, what: str) -> int:
        """Where something happened last, -1 if never."""
        return max((index for index, entry in enumerate(self.entries) if entry[0] == what), default=-1)

    def ended_well(self, what: str) -> bool:
        return self.at(what) >= 0 and self.entries[self.at(what)][2]

    def outcome(self, what: str) -> Outcome | None:
        return self.entries[self.at(what)][1] if self.at(what) >= 0 else None

    @property
    def last_running(self) -> int:
        running = (index for index, entry in enumerate(self.entries) if entry[1] is Outcome.RUNNING)
        return max(running, default=-1)


class Afternoon(RuleBasedStateMachine):
    """A technician who tries everything, in any order; only what the procedure allows happens."""

    @initialize(
        service=st.sampled_from([ServiceKind.REPAIR, ServiceKind.AC_SERVICE, *ServiceKind]),
        drive=st.sampled_from([Drive.ELECTRIC_HV, Drive.DUAL, Drive.BELT]),
    )
    def a_vehicle_comes(self, service, drive):
        oil = Lubricant.POE if drive.is_high_voltage else Lubricant.PAG
        facts = replace(ELECTRIC, service=service, drive=drive, lubricant=oil)
        self.visit = Visit(facts, JobStatus.BOOKED)
        self.story = Story()
        self.machine_on = False
        assert not any(state.may_record for state in self.visit.states)
        self.visit.changed(status=JobStatus.CHECKED_IN)

    @rule(kind=st.sampled_from(RECORDED), well=st.booleans())
    def record(self, kind, well):
        self._record(kind, well)

    @rule(endings=st.lists(st.sampled_from([True] * 9 + [False]), min_size=1, max_size=15))
    def go_on(self, endings):
        """Do what the page offers next; random order alone would hardly ever come to a charge."""
        for well in endings:
            state = next((state for state in self.visit.states if state.status is StepStatus.NEXT), None)
            if state is not None:
                self._do(state.kind, well)

    @rule()
    def prove_empty(self):
        if self.visit.progress.was_connected and self.visit.state(StepKind.IDENTIFICATION).may_record:
            self._did(StepKind.IDENTIFICATION, Outcome.EMPTY, True)

    @rule()
    def find_foul_gas_and_connect_everything(self):
        if self.visit.state(StepKind.IDENTIFICATION).may_record:
            self._did(StepKind.IDENTIFICATION, Outcome.FAILED, True)
        self._connect(MARKED)
        self._connect(MACHINE)
        self._record(StepKind.RECOVERY, True)

    @rule(load=st.sampled_from(LOADS))
    def connect(self, load):
        self._connect(load)

    @rule()
    def disconnect(self):
        self._disconnect()

    @rule()
    def purge(self):
        self._purge()

    @rule()
    def close(self):
        self._close()

    # --- what is done, if the procedure allows it ------------------------------------------------

    def _do(self, kind, well):
        actions = {
            StepKind.CONNECTION: lambda: self._connect(MARKED if self._is_foul else MACHINE),
            StepKind.DISCONNECTION: self._disconnect,
            StepKind.CLOSING_PURGE: self._purge,
            StepKind.CLOSE_OUT: self._close,
        }
        actions.get(kind, lambda: self._record(kind, well))()

    def _record(self, kind, well):
        if self.visit.state(kind).may_record:
            outcome, satisfied = (GOOD[kind], True) if well or kind not in BAD else BAD[kind]
            self._did(kind, outcome, satisfied)

    def _did(self, kind, outcome, satisfied):
        self._judge(kind)
        self.visit.did(kind, outcome, satisfied)
        self.story.tell(kind.value, outcome, satisfied)

    def _connect(self, load):
        if not self.visit.state(StepKind.CONNECTION).may_record:
            return
        self.visit.connected(*load, marked=load is MARKED)
        self.machine_on = self.machine_on or load is MACHINE
        due = {kind.value for kind in load if kind.can_be_purged} | set(self.visit.progress.purges_due)
        self.visit.changed(purges_due=tuple(sorted(due)))
        self.story.tell(CONNECT)

    def _disconnect(self):
        if self.visit.state(StepKind.DISCONNECTION).may_record:
            self.visit.changed(connected=frozenset(), contaminated_cylinder_on=False)
            self.machine_on = False
            self.story.tell(DISCONNECT)

    def _purge(self):
        if not self.visit.progress.connected:
            self.visit.purged()
            self.story.tell(PURGE)

    def _close(self):
        if self.visit.state(StepKind.CLOSE_OUT).may_record:
            self._judge_close()
            self.visit.did(StepKind.CLOSE_OUT).changed(status=JobStatus.CLOSED)

    # --- what must be true then, told from the story alone ---------------------------------------

    @property
    def _is_foul(self):
        return self.story.outcome("IDENTIFICATION") is Outcome.FAILED

    def _judge(self, kind):
        story = self.story
        assert kind is StepKind.LABEL or story.ended_well("LABEL")
        if kind in {StepKind.PARTS, StepKind.INSULATION} and self.visit.facts.is_high_voltage:
            assert story.ended_well("HIGH_VOLTAGE")
            assert story.at("HIGH_VOLTAGE") > story.last_running
        if kind in {StepKind.EVACUATION, StepKind.CHARGE}:
            assert self.machine_on
            assert not self._is_foul
        if kind is StepKind.RECOVERY:
            assert self._is_foul != self.machine_on
        if kind is StepKind.EVACUATION:
            emptied = max(story.at("RECOVERY"), story.at("IDENTIFICATION"))
            assert emptied > story.at("CHARGE")
        if kind is StepKind.CHARGE:
            assert story.outcome("EVACUATION") is Outcome.HELD
            assert story.at("EVACUATION") > max(story.at("RECOVERY"), story.at("PARTS"))

    def _judge_close(self):
        story, facts = self.story, self.visit.facts
        assert story.ended_well("LABEL")
        if story.at(CONNECT) >= 0:
            assert story.at(DISCONNECT) > story.at(CONNECT)
            assert story.at(PURGE) > story.at(DISCONNECT)
        if facts.is_high_voltage and facts.service in {ServiceKind.REPAIR, ServiceKind.INSULATION}:
            assert story.ended_well("HIGH_VOLTAGE")
            assert story.ended_well("INSULATION")
        if facts.service is ServiceKind.REPAIR:
            assert story.ended_well("PARTS")
        if facts.service in {ServiceKind.REPAIR, ServiceKind.AC_SERVICE}:
            self._judge_refrigerant()

    def _judge_refrigerant(self):
        story = self.story
        if self._is_foul:
            assert story.ended_well("RECOVERY")
            assert story.at("RECOVERY") > story.at("IDENTIFICATION")
            return
        assert story.ended_well("CHARGE")
        assert story.ended_well("OIL")
        assert story.at("CHARGE") > story.at("RECOVERY")
        assert story.at("LEAK_CHECK") > story.at("CHARGE")
        assert story.at("READINGS_AFTER") > story.at("CHARGE")


Afternoon.TestCase.settings = settings(
    max_examples=60, stateful_step_count=25, deadline=None, suppress_health_check=list(HealthCheck)
)
TestAnAfternoon = Afternoon.TestCase
