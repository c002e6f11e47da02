"""A job at one moment, as the rules of the procedure ask about it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from equipment.choices import PieceKind
from equipment.readiness import Identification
from jobs.choices import JobStatus, ServiceKind, StepKind
from jobs.procedure.facts import GAUGED, Outcome, ProcedureFacts, Progress, StepDone
from jobs.procedure.plan import Need, PlannedStep

_FOUL = frozenset({Outcome.FAILED, Outcome.NOT_ANALYSABLE})
_NOT_WITH_FOUL_GAS = frozenset(
    {
        StepKind.OIL_BOTTLE,
        StepKind.READINGS_BEFORE,
        StepKind.EVACUATION,
        StepKind.OIL,
        StepKind.CHARGE,
        StepKind.READINGS_AFTER,
        StepKind.LEAK_CHECK,
    }
)
_NOT_ON_AN_EMPTY_CIRCUIT = frozenset({StepKind.READINGS_BEFORE, StepKind.RECOVERY})
#: A vehicle that leaves empty, with foul gas taken out, is not measured: its repair comes first.
_HIGH_VOLTAGE = frozenset({StepKind.HIGH_VOLTAGE, StepKind.INSULATION})
_CONNECTING = frozenset({StepKind.CONNECTION, StepKind.DISCONNECTION, StepKind.CLOSING_PURGE})


@dataclass(frozen=True)
class Case:
    """The plan, the facts and the progress of a job, with the questions that several rules share."""

    facts: ProcedureFacts
    plan: Mapping[StepKind, PlannedStep]
    progress: Progress

    def last(self, kind: StepKind) -> StepDone | None:
        """Return the newest standing record of a kind."""
        return self._newest.get(kind)

    def recorded_at(self, kind: StepKind) -> int:
        """Return where the newest record of a kind stands, however it ended, 0 without one."""
        last = self.last(kind)
        return last.position if last else 0

    def has(self, kind: StepKind) -> bool:
        """Whether the newest standing record of a kind counts as done."""
        last = self.last(kind)
        return last is not None and last.satisfied

    def outcome(self, kind: StepKind) -> Outcome | None:
        """Return how the newest record of a kind ended, None without one."""
        last = self.last(kind)
        return last.outcome if last else None

    @property
    def is_in_the_workshop(self) -> bool:
        """Whether the vehicle is checked in and the job not closed."""
        return self.progress.status == JobStatus.CHECKED_IN

    @property
    def is_foul(self) -> bool:
        """Whether the gas is contaminated or could not be analysed."""
        return self.outcome(StepKind.IDENTIFICATION) in _FOUL

    @property
    def emptied_at(self) -> int:
        """The position at which the circuit was last known to hold no refrigerant, 0 if never."""
        evidence = [self.recorded_at(StepKind.RECOVERY) if self.has(StepKind.RECOVERY) else 0]
        for kind, outcome in (
            (StepKind.IDENTIFICATION, Outcome.EMPTY),
            (StepKind.READINGS_BEFORE, Outcome.NO_PRESSURE),
        ):
            last = self.last(kind)
            evidence.append(last.position if last and last.outcome is outcome else 0)
        return max(evidence)

    @property
    def is_empty(self) -> bool:
        """Whether no refrigerant is in the circuit as far as the records tell."""
        return self.emptied_at > self.recorded_at(StepKind.CHARGE)

    @property
    def vacuum_holds(self) -> bool:
        """Whether the last evacuation held, and nothing was recovered, opened or put in since.

        Whoever searches a leak in an empty circuit has put nitrogen or trace gas into it.
        """
        if self.outcome(StepKind.EVACUATION) is not Outcome.HELD:
            return False
        kinds = [StepKind.RECOVERY, StepKind.PARTS, *([StepKind.LEAK_CHECK] if self.is_empty else [])]
        return self.recorded_at(StepKind.EVACUATION) > max(self.recorded_at(kind) for kind in kinds)

    @property
    def pump_oil_at(self) -> int:
        """The position of the newest evacuation that may have let pump oil into a high-voltage circuit."""
        found = [
            record.position
            for record in self.progress.records
            if record.kind is StepKind.EVACUATION and record.outcome is Outcome.NOT_DONE
        ]
        return max(found, default=0)

    @property
    def is_charged(self) -> bool:
        """Whether the circuit was charged after everything that empties it."""
        return self.has(StepKind.CHARGE) and self.recorded_at(StepKind.CHARGE) > self.emptied_at

    @property
    def is_de_energised(self) -> bool:
        """Whether absence of voltage was proved and the vehicle not switched on for readings since."""
        running = [record.position for record in self.progress.records if record.outcome is Outcome.RUNNING]
        proved_at = self.recorded_at(StepKind.HIGH_VOLTAGE)
        return self.has(StepKind.HIGH_VOLTAGE) and proved_at > max(running, default=0)

    @property
    def machine_is_on(self) -> bool:
        """Whether a service machine is on the vehicle."""
        return PieceKind.MACHINE in self.progress.connected

    @property
    def gauges_are_on(self) -> bool:
        """Whether something with gauges is on the vehicle."""
        return bool(GAUGED & self.progress.connected)

    @property
    def identification(self) -> Identification:
        """What the clearance may believe about the gas. An empty circuit has nothing left to identify."""
        found: dict[Outcome | None, Identification] = {
            Outcome.PASSED: Identification.PASSED,
            Outcome.EMPTY: Identification.PASSED,
            Outcome.FAILED: Identification.FAILED,
            Outcome.NOT_ANALYSABLE: Identification.NOT_ANALYSABLE,
        }
        return found.get(self.outcome(StepKind.IDENTIFICATION), Identification.NOT_DONE)

    @property
    def needs_high_voltage_work(self) -> bool:
        """Whether somebody works on high-voltage parts on this visit."""
        if not self.facts.is_high_voltage:
            return False
        return self.plan[StepKind.HIGH_VOLTAGE].required or self.last(StepKind.HIGH_VOLTAGE) is not None

    def need(self, kind: StepKind) -> Need:
        """Return whether the job needs a step, now that more is known than at the booking."""
        planned = self.plan[kind].need
        if planned is Need.NOT_NEEDED or self.last(kind) is not None:
            return planned
        spared = kind in self._spared
        return Need.NOT_NEEDED if spared else planned

    @cached_property
    def _newest(self) -> dict[StepKind, StepDone]:
        return {record.kind: record for record in sorted(self.progress.records, key=lambda one: one.position)}

    @cached_property
    def _spared(self) -> frozenset[StepKind]:
        spared: frozenset[StepKind] = frozenset()
        if self.is_foul:
            spared |= _NOT_WITH_FOUL_GAS
        if self.is_foul and self.facts.service is ServiceKind.AC_SERVICE:
            spared |= _HIGH_VOLTAGE
        if self.is_empty:
            spared |= _NOT_ON_AN_EMPTY_CIRCUIT
        inspects = self.facts.service is ServiceKind.INSPECTION
        if inspects and spared and not self.progress.was_connected:
            spared |= _CONNECTING
        return spared
