"""A visit told step by step, for tests of the procedure that need no database."""

from __future__ import annotations

from dataclasses import replace

from equipment.choices import PieceKind
from jobs.choices import JobStatus, ServiceKind, StepKind
from jobs.procedure import (
    Outcome,
    ProcedureFacts,
    Progress,
    StepDone,
    StepState,
    StepStatus,
    case_of,
    state_of,
    step_states,
)
from shopcool.vehicles.choices import Drive, Lubricant, Refrigerant

ELECTRIC = ProcedureFacts(
    service=ServiceKind.AC_SERVICE,
    refrigerant=Refrigerant.R1234YF,
    lubricant=Lubricant.POE,
    drive=Drive.ELECTRIC_HV,
    charge_kg=0.55,
)
BELT = replace(ELECTRIC, lubricant=Lubricant.PAG, drive=Drive.BELT)

#: How each recorded step ends when all goes well.
GOOD = {
    StepKind.LABEL: Outcome.MATCHES,
    StepKind.HIGH_VOLTAGE: Outcome.SAFE,
    StepKind.IDENTIFICATION: Outcome.PASSED,
    StepKind.OIL_BOTTLE: Outcome.DONE,
    StepKind.READINGS_BEFORE: Outcome.STATIC,
    StepKind.INSULATION: Outcome.PASSED,
    StepKind.RECOVERY: Outcome.DONE,
    StepKind.PARTS: Outcome.DONE,
    StepKind.EVACUATION: Outcome.HELD,
    StepKind.OIL: Outcome.DONE,
    StepKind.CHARGE: Outcome.IN_TOLERANCE,
    StepKind.READINGS_AFTER: Outcome.STATIC,
    StepKind.LEAK_CHECK: Outcome.NO_LEAK_FOUND,
    StepKind.CLOSE_OUT: Outcome.DONE,
}


class Visit:
    """A job's facts and progress, changed by what happens on the visit."""

    def __init__(self, facts: ProcedureFacts = ELECTRIC, status: JobStatus = JobStatus.CHECKED_IN) -> None:
        self.facts = facts
        self.progress = Progress(status=status)

    def did(self, kind: StepKind, outcome: Outcome | None = None, satisfied: bool = True) -> Visit:
        """Record a step, ended well unless told otherwise."""
        record = StepDone(kind, len(self.progress.records) + 1, outcome or GOOD[kind], satisfied)
        return self.changed(records=(*self.progress.records, record))

    def connected(self, *kinds: PieceKind, marked: bool = False) -> Visit:
        """Put pieces on the vehicle."""
        return self.changed(
            connected=self.progress.connected | frozenset(kinds),
            contaminated_cylinder_on=self.progress.contaminated_cylinder_on or marked,
            was_connected=True,
        )

    def disconnected(self, *due: str) -> Visit:
        """Take everything off; the named pieces need a line purge."""
        return self.changed(connected=frozenset(), contaminated_cylinder_on=False, purges_due=due)

    def purged(self) -> Visit:
        """Clear every piece that was due."""
        return self.changed(purges_due=())

    def changed(self, **changes: object) -> Visit:
        self.progress = replace(self.progress, **changes)  # type: ignore[arg-type]
        return self

    @property
    def states(self) -> tuple[StepState, ...]:
        return step_states(case_of(self.facts, self.progress))

    def state(self, kind: StepKind) -> StepState:
        return state_of(kind, self.states)

    def status(self, kind: StepKind) -> StepStatus:
        return self.state(kind).status

    def codes(self, kind: StepKind) -> set[str]:
        """The codes of everything that blocks a step."""
        return {reason.code for reason in self.state(kind).reasons}

    def up_to_connection(self) -> Visit:
        """Everything before the first gauge reading."""
        self.did(StepKind.LABEL)
        if self.facts.is_high_voltage:
            self.did(StepKind.HIGH_VOLTAGE)
        self.did(StepKind.IDENTIFICATION).did(StepKind.OIL_BOTTLE)
        return self.connected(PieceKind.MACHINE, PieceKind.HOSE_SET)

    def up_to_charge(self) -> Visit:
        """Everything before the charge."""
        self.up_to_connection().did(StepKind.READINGS_BEFORE)
        if self.facts.is_high_voltage:
            self.did(StepKind.INSULATION)
        return self.did(StepKind.RECOVERY).did(StepKind.EVACUATION).did(StepKind.OIL)

    def up_to_disconnection(self) -> Visit:
        """Everything while the machine is on the vehicle."""
        return self.up_to_charge().did(StepKind.CHARGE).did(StepKind.READINGS_AFTER).did(StepKind.LEAK_CHECK)
