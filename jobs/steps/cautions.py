"""Cautions that stand where the step is. They never replace the vehicle maker's instructions."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from django.utils.translation import gettext as _

from jobs.choices import StepKind
from jobs.procedure import ProcedureFacts


class CautionKind(StrEnum):
    """What can hurt."""

    HIGH_VOLTAGE = "HIGH_VOLTAGE"
    PRESSURE = "PRESSURE"
    FROST = "FROST"
    FLAMMABLE = "FLAMMABLE"
    ASPHYXIATION = "ASPHYXIATION"


@dataclass(frozen=True)
class Caution:
    """One caution with its sentence."""

    kind: CautionKind
    sentence: str


_GAS_STEPS = {
    StepKind.IDENTIFICATION,
    StepKind.CONNECTION,
    StepKind.READINGS_BEFORE,
    StepKind.RECOVERY,
    StepKind.CHARGE,
    StepKind.READINGS_AFTER,
    StepKind.LEAK_CHECK,
    StepKind.DISCONNECTION,
}
_OPEN_GAS_STEPS = {StepKind.RECOVERY, StepKind.PARTS, StepKind.CHARGE, StepKind.DISCONNECTION}
_AIR_STEPS = _OPEN_GAS_STEPS | {StepKind.LEAK_CHECK}
_VOLTAGE_STEPS = {StepKind.HIGH_VOLTAGE, StepKind.INSULATION, StepKind.PARTS}


def cautions(kind: StepKind, facts: ProcedureFacts) -> tuple[Caution, ...]:
    """Return the cautions of a step on this circuit."""
    shown = []
    if facts.is_high_voltage and kind in _VOLTAGE_STEPS:
        shown.append(CautionKind.HIGH_VOLTAGE)
    if kind in _GAS_STEPS:
        shown.append(CautionKind.PRESSURE)
    if kind in _GAS_STEPS | {StepKind.PARTS}:
        shown.append(CautionKind.FROST)
    if facts.refrigerant.is_flammable and kind in _GAS_STEPS | _OPEN_GAS_STEPS:
        shown.append(CautionKind.FLAMMABLE)
    if kind in _AIR_STEPS:
        shown.append(CautionKind.ASPHYXIATION)
    return tuple(Caution(item, _sentences()[item]) for item in shown)


def _sentences() -> dict[CautionKind, str]:
    return {
        CautionKind.HIGH_VOLTAGE: _(
            "High voltage can kill. Only qualified people, as the vehicle maker and local rules say."
        ),
        CautionKind.PRESSURE: _("Under pressure. Wear eye protection, open valves slowly."),
        CautionKind.FROST: _("Liquid refrigerant freezes skin and eyes. Wear gloves and eye protection."),
        CautionKind.FLAMMABLE: _("Flammable refrigerant. Ventilate, keep flames, sparks and hot parts away."),
        CautionKind.ASPHYXIATION: _("Refrigerant and nitrogen displace air, most of all in pits. Ventilate."),
    }
