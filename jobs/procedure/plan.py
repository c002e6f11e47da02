"""Which steps a job needs: from the service and the circuit."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from jobs.choices import ServiceKind, StepKind
from jobs.procedure.facts import ProcedureFacts


class Need(StrEnum):
    """Whether a job needs a step."""

    REQUIRED = "REQUIRED"
    OPTIONAL = "OPTIONAL"
    NOT_NEEDED = "NOT_NEEDED"


@dataclass(frozen=True)
class PlannedStep:
    """One step of a procedure, and why it is or is not needed."""

    kind: StepKind
    need: Need
    because: Promise

    @property
    def why(self) -> str:
        """The reason in the language of whoever reads it."""
        return str(self.because)

    @property
    def required(self) -> bool:
        """Whether the job can't be closed without the step."""
        return self.need is Need.REQUIRED


_ALWAYS = {StepKind.LABEL, StepKind.CLOSE_OUT}
_ON_THE_CIRCUIT = {
    StepKind.IDENTIFICATION,
    StepKind.OIL_BOTTLE,
    StepKind.CONNECTION,
    StepKind.READINGS_BEFORE,
    StepKind.DISCONNECTION,
    StepKind.CLOSING_PURGE,
}
_WITH_CHARGE = {
    StepKind.RECOVERY,
    StepKind.EVACUATION,
    StepKind.OIL,
    StepKind.CHARGE,
    StepKind.READINGS_AFTER,
    StepKind.LEAK_CHECK,
}
_REQUIRED: dict[ServiceKind, set[StepKind]] = {
    ServiceKind.AC_SERVICE: _ALWAYS | _ON_THE_CIRCUIT | _WITH_CHARGE,
    ServiceKind.REPAIR: _ALWAYS | _ON_THE_CIRCUIT | _WITH_CHARGE | {StepKind.PARTS},
    ServiceKind.INSPECTION: _ALWAYS | _ON_THE_CIRCUIT,
    ServiceKind.INSULATION: set(_ALWAYS),
}
_OPTIONAL: dict[ServiceKind, set[StepKind]] = {
    ServiceKind.AC_SERVICE: {StepKind.PARTS},
    ServiceKind.REPAIR: set(),
    ServiceKind.INSPECTION: {StepKind.LEAK_CHECK},
    ServiceKind.INSULATION: set(),
}
_HIGH_VOLTAGE_STEPS = (StepKind.HIGH_VOLTAGE, StepKind.INSULATION)

_WHY: dict[StepKind, Promise] = {
    StepKind.LABEL: _("Refrigerant, charge and oil follow the label and the compressor drive."),
    StepKind.IDENTIFICATION: _("Fittings and pressure are not proof; an identifier is."),
    StepKind.OIL_BOTTLE: _("Recovered oil is the end reading minus the start reading."),
    StepKind.CONNECTION: _("Only pieces that a clearance permits may touch the circuit."),
    StepKind.READINGS_BEFORE: _("A circuit without pressure must not be recovered: it would feed air."),
    StepKind.RECOVERY: _("The weight that was in the circuit comes before any verdict on its parts."),
    StepKind.PARTS: _("The vehicle came for a repair."),
    StepKind.EVACUATION: _("Air and moisture have to leave before the charge."),
    StepKind.OIL: _("Say which oil went in, how much and through which injector, or that none did."),
    StepKind.CHARGE: _("The charge is weighed against the label."),
    StepKind.READINGS_AFTER: _("Shows how the circuit works with its charge."),
    StepKind.LEAK_CHECK: _("A vacuum hold can't see small leaks."),
    StepKind.DISCONNECTION: _("Says when each piece left the vehicle."),
    StepKind.CLOSING_PURGE: _("What was on this vehicle must not carry its oil to the next one."),
    StepKind.CLOSE_OUT: _("The owner's record and the next service."),
}


@lru_cache(maxsize=256)
def build_procedure(facts: ProcedureFacts) -> tuple[PlannedStep, ...]:
    """Return every kind of step in the order of the work, with its need on this job and the reason."""
    return tuple(_planned(kind, facts) for kind in StepKind)


def _planned(kind: StepKind, facts: ProcedureFacts) -> PlannedStep:
    if kind in _HIGH_VOLTAGE_STEPS:
        return _high_voltage_step(kind, facts)
    if kind in _REQUIRED[facts.service]:
        return PlannedStep(kind, Need.REQUIRED, _WHY[kind])
    if kind in _OPTIONAL[facts.service]:
        return PlannedStep(kind, Need.OPTIONAL, _("Record it if it is done on this visit."))
    return PlannedStep(kind, Need.NOT_NEEDED, _("Not part of this service."))


def _high_voltage_step(kind: StepKind, facts: ProcedureFacts) -> PlannedStep:
    if not facts.is_high_voltage:
        why = _("The compressor drive of this circuit is not high voltage.")
        return PlannedStep(kind, Need.NOT_NEEDED, why)
    if facts.service is ServiceKind.INSULATION:
        return PlannedStep(kind, Need.REQUIRED, _("It is what the vehicle came for."))
    if facts.service is ServiceKind.REPAIR:
        why = _("Parts are opened on a circuit whose compressor windings sit in refrigerant and oil.")
        return PlannedStep(kind, Need.REQUIRED, why)
    if facts.service is ServiceKind.AC_SERVICE:
        why = _("The car leaves with its insulation measured: its windings sit in refrigerant and oil.")
        return PlannedStep(kind, Need.REQUIRED, why)
    if facts.other_oil_suspected:
        why = _("Other oil may have entered this circuit: the insulation has to be measured.")
        return PlannedStep(kind, Need.REQUIRED, why)
    why = _("Needed as soon as high-voltage parts are touched or the insulation is measured.")
    return PlannedStep(kind, Need.OPTIONAL, why)
