"""Recovery: what the recovered weight says about the charge that was in the vehicle."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from shopcool.engineering.errors import Refusal
from shopcool.engineering.limits import check_temperature, within
from shopcool.engineering.results import Notice

METHOD_VERSION = "recovery 1"
COVERAGE = 2.0
LARGEST_CHARGE_KG = 50.0
MOST_YEARS = 60.0
#: Above this share of the label the label, the unit or the vehicle is wrong.
LARGEST_SHARE_OF_LABEL = 1.25
#: Least recovery of a certified machine, and the half width of what real recoveries do around it.
EFFICIENCY, EFFICIENCY_HALF_WIDTH = 0.95, 0.05
LONGEST_WAIT_S = 600.0


@dataclass(frozen=True)
class Residue:
    """The largest share of a charge [-] that stays behind at or above a temperature [K], with its source."""

    from_k: float
    share: float
    source: str


WARM = Residue(294.15, 0.05, "SAE J2788 in 40 CFR 82 Subpart B Appendix C, 7.1.1: at least 95 % at 21-24 °C")
WARM_OLD_MACHINE = Residue(294.15, 0.18, "common practice: older machines left up to 18 % at 21 °C")
COOL = Residue(288.15, 0.18, "common practice: older machines left up to 18 % at 21 °C")
COLD = Residue(0.0, 0.30, "86 FR 15587 (2021), preamble: older machines left up to 30 %")


class Verdict(StrEnum):
    """Whether another pull is due before the circuit is opened."""

    LOWER_BOUND = "lower_bound"
    SECOND_PULL_DUE = "second_pull_due"


SENTENCES = {
    Verdict.LOWER_BOUND: "At least this much was in the circuit; up to the estimate shown may remain in it.",
    Verdict.SECOND_PULL_DUE: (
        "Pull again before opening the circuit: refrigerant has come back out of the oil, or more than ten "
        "minutes have passed."
    ),
}


@dataclass(frozen=True)
class Recovery:
    """A recovered weight as a lower bound: recovered, largest remainder and largest content before [kg]."""

    recovered_kg: float
    ambient_k: float
    accumulator: bool
    certified_machine: bool
    pressure_returned: bool
    waited_s: float
    residue: Residue
    remaining_high_kg: float
    before_low_kg: float
    before_high_kg: float
    verdict: Verdict
    sentence: str
    warnings: tuple[Notice, ...]
    method_version: str = METHOD_VERSION

    @property
    def source(self) -> str:
        """Where the share that may remain comes from."""
        return self.residue.source


def recovery(
    recovered_kg: float,
    *,
    ambient_k: float,
    accumulator: bool,
    certified_machine: bool,
    pressure_returned: bool = False,
    waited_s: float = 0.0,
) -> Recovery:
    """Return what a recovered weight says about the circuit.

    Parameters:
        recovered_kg: recovered mass on the scale [kg].
        ambient_k: ambient temperature [K].
        accumulator: whether the circuit has an orifice and an accumulator.
        certified_machine: whether the machine is certified to the standard of 2007 or later.
        pressure_returned: whether pressure came back after the pull.
        waited_s: time since the pull ended with the circuit closed [s].

    Returns: the mass as a lower bound and what may remain [kg].

    Raises ``not_a_number``, ``mass``, ``temperature``, ``waited``.

    Source: SAE J2788 7.1.1 for certified machines; 86 FR 15587 preamble and common practice for others.
    """
    _check_mass(recovered_kg, "recovered_kg")
    check_temperature(ambient_k, field="ambient_k")
    within(
        waited_s,
        0,
        30 * 86_400,
        name="The time since the pull",
        field="waited_s",
        code="waited",
        message="The time since the pull must be between 0 and 30 days.",
    )
    residue = _residue(ambient_k, accumulator, certified_machine)
    remaining = recovered_kg * residue.share / (1 - residue.share)
    due = pressure_returned or waited_s > LONGEST_WAIT_S
    verdict = Verdict.SECOND_PULL_DUE if due else Verdict.LOWER_BOUND
    return Recovery(
        recovered_kg=recovered_kg,
        ambient_k=ambient_k,
        accumulator=accumulator,
        certified_machine=certified_machine,
        pressure_returned=pressure_returned,
        waited_s=waited_s,
        residue=residue,
        remaining_high_kg=remaining,
        before_low_kg=recovered_kg,
        before_high_kg=recovered_kg + remaining,
        verdict=verdict,
        sentence=SENTENCES[verdict],
        warnings=_warnings(residue, accumulator),
    )


def _residue(ambient_k: float, accumulator: bool, certified: bool) -> Residue:
    if ambient_k < COOL.from_k:
        return COLD
    if ambient_k < WARM.from_k:
        return COLD if accumulator else COOL
    return WARM if certified else WARM_OLD_MACHINE


def _warnings(residue: Residue, accumulator: bool) -> tuple[Notice, ...]:
    notices = [
        Notice("lower_bound", "The recovered weight is a lower bound; on its own it proves no loss."),
        Notice(
            "no_top_up", "Never charge on top of an unknown remainder: evacuate, then weigh the charge in."
        ),
    ]
    if residue is COLD:
        notices.append(Notice("cold", "Cold oil holds refrigerant: warm the circuit and pull again."))
    if accumulator:
        notices.append(Notice("accumulator", "An accumulator keeps refrigerant in its oil longest: warm it."))
    return tuple(notices)


class LossVerdict(StrEnum):
    """Whether the missing mass means anything."""

    MISSING = "missing"
    WITHIN_UNCERTAINTY = "within_uncertainty"
    MORE_THAN_LABEL = "more_than_label"


LOSS_SENTENCES = {
    LossVerdict.MISSING: "Refrigerant is missing against the start charge, by more than the uncertainty.",
    LossVerdict.WITHIN_UNCERTAINTY: "What is missing is within the uncertainty: no loss can be stated.",
    LossVerdict.MORE_THAN_LABEL: "More came out than the label charge, by more than the uncertainty.",
}
LOSS_SOURCE = "Mass balance with propagated uncertainty (GUM, JCGM 100:2008), coverage factor 2"
#: Type-approval limit of a new vehicle with one evaporator, Regulation (EC) 706/2007; with two it is 60 g.
TYPE_APPROVAL_KG_YEAR = 0.040


@dataclass(frozen=True)
class Loss:
    """Missing mass [kg] and per year [kg/year], each with its standard and expanded (k = 2) uncertainty."""

    start_kg: float
    recovered_kg: float
    years: float
    missing_kg: float
    missing_standard_kg: float
    loss_kg_year: float
    standard_kg_year: float
    expanded_kg_year: float
    verdict: LossVerdict
    sentence: str
    warnings: tuple[Notice, ...]
    source: str = LOSS_SOURCE
    method_version: str = METHOD_VERSION


def loss_per_year(
    start_kg: float,
    recovered_kg: float,
    *,
    years: float,
    start_tolerance_kg: float,
    scale_accuracy_kg: float,
    efficiency: float = EFFICIENCY,
    efficiency_half_width: float = EFFICIENCY_HALF_WIDTH,
) -> Loss:
    """Return the mass lost per year since the circuit was last known to hold its start charge.

    Parameters:
        start_kg: label or last charged mass [kg].
        recovered_kg: recovered mass [kg].
        years: time between [year].
        start_tolerance_kg: half width of the start charge [kg].
        scale_accuracy_kg: half width of the weighing [kg].
        efficiency: share of the charge that a recovery brings out [-].
        efficiency_half_width: half width of that share [-].

    Returns: missing mass [kg], loss [kg/year], each with its uncertainty. Valid only for a known start.

    Raises ``not_a_number``, ``mass``, ``years``, ``over``, ``tolerance``, ``efficiency``.

    Source: mass balance; GUM, JCGM 100:2008, coverage factor 2.
    """
    _check_loss(start_kg, recovered_kg, years, start_tolerance_kg, scale_accuracy_kg)
    _check_efficiency(efficiency, efficiency_half_width)
    missing = start_kg - recovered_kg / efficiency
    standard = _standard(
        start_tolerance_kg,
        scale_accuracy_kg / efficiency,
        recovered_kg / efficiency**2 * efficiency_half_width,
    )
    verdict = LossVerdict.WITHIN_UNCERTAINTY
    if abs(missing) > COVERAGE * standard:
        verdict = LossVerdict.MISSING if missing > 0 else LossVerdict.MORE_THAN_LABEL
    return Loss(
        start_kg=start_kg,
        recovered_kg=recovered_kg,
        years=years,
        missing_kg=missing,
        missing_standard_kg=standard,
        loss_kg_year=missing / years,
        standard_kg_year=standard / years,
        expanded_kg_year=COVERAGE * standard / years,
        verdict=verdict,
        sentence=LOSS_SENTENCES[verdict],
        warnings=_loss_warnings(missing, standard, years),
    )


def _standard(*half_widths: float) -> float:
    """Return the standard uncertainty of independent rectangular contributions."""
    return math.sqrt(math.fsum(half * half for half in half_widths) / 3)


def _loss_warnings(missing: float, standard: float, years: float) -> tuple[Notice, ...]:
    notices = [Notice("known_start", "Valid only if the start charge was really in the circuit.")]
    if (missing - COVERAGE * standard) / years > TYPE_APPROVAL_KG_YEAR:
        notices.append(
            Notice(
                "above_type_approval",
                "More per year than a new vehicle with one evaporator may lose (40 g; 60 g with two): search "
                "with a detector or with nitrogen before charging. A vacuum hold can't see this leak.",
            )
        )
    return tuple(notices)


def _check_loss(start: float, recovered: float, years: float, tolerance: float, accuracy: float) -> None:
    _check_mass(start, "start_kg", smallest=0.01)
    _check_mass(recovered, "recovered_kg")
    if recovered > LARGEST_SHARE_OF_LABEL * start:
        raise Refusal(
            "over",
            "More than 125 % of the start charge was recovered: check vehicle, label and unit.",
            field="recovered_kg",
        )
    within(
        years,
        1 / 365.25,
        MOST_YEARS,
        name="The time since the start charge",
        field="years",
        code="years",
        message="The time since the start charge must be between one day and 60 years.",
    )
    for field, value in (("start_tolerance_kg", tolerance), ("scale_accuracy_kg", accuracy)):
        within(
            value,
            0,
            LARGEST_CHARGE_KG,
            name="A tolerance",
            field=field,
            code="tolerance",
            message="A tolerance must be between 0 and 50 kg.",
        )


def _check_efficiency(efficiency: float, half_width: float) -> None:
    within(
        efficiency,
        0.5,
        1,
        name="The efficiency of the recovery",
        field="efficiency",
        code="efficiency",
        message="The efficiency of the recovery must be between 50 and 100 %.",
    )
    within(
        half_width,
        0,
        0.5,
        name="The half width of the efficiency",
        field="efficiency_half_width",
        code="efficiency",
        message="The half width of the efficiency must be between 0 and 50 points.",
    )


def _check_mass(mass_kg: float, field: str, smallest: float = 0.0) -> None:
    within(
        mass_kg,
        smallest,
        LARGEST_CHARGE_KG,
        name="The mass",
        field=field,
        code="mass",
        message=f"The mass must be between {smallest * 1000:g} g and {LARGEST_CHARGE_KG:g} kg.",
    )
