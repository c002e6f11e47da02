"""Lubricant carry-over: how much of the last oil could reach the next circuit after purging.

Each purge of a hose of volume ``V`` with a volume ``V_p`` of liquid leaves the share ``k = V / (V + V_p)``
(filled, mixed, drained) or ``k = exp(-V_p / V)`` (flows through). Real oil films mix badly: only the share
``mixing`` of the residue takes part, so one purge leaves ``1 - mixing (1 - k)``.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from shopcool.engineering.errors import Refusal
from shopcool.engineering.limits import within
from shopcool.engineering.results import Notice

METHOD_VERSION = "carry-over 1"
SOURCE = (
    "Ideal dilution by batches or by flow, with an incomplete-mixing factor; an estimate until calibrated"
)
MOST_PURGES = 1000
LARGEST_MASS_KG = 100.0
LARGEST_VOLUME_M3 = 0.1


class Purging(StrEnum):
    """How the purge liquid meets the residue."""

    FILL_AND_DRAIN = "fill_and_drain"
    FLOW_THROUGH = "flow_through"


class Basis(StrEnum):
    """What a limit is a share of."""

    OIL_OF_CIRCUIT = "oil_of_circuit"
    REFRIGERANT_CHARGE = "refrigerant_charge"


class Certainty(StrEnum):
    """How sure the product is of a limit."""

    READ = "read in the text"
    SECONDARY = "read in a secondary source"
    MEMORY = "from memory"


@dataclass(frozen=True)
class Limit:
    """A largest share of foreign oil [-]: of what, where it comes from and how sure that is."""

    name: str
    share: float
    basis: Basis
    source: str
    certainty: Certainty


#: The references that a shop may choose from; none of them is a vehicle maker's permission.
LIMITS = (
    Limit(
        "residual oil in the charge, 2007",
        0.01,
        Basis.REFRIGERANT_CHARGE,
        "SAE J2788 as codified in 40 CFR 82 Subpart B Appendix C, 8.9.5",
        Certainty.READ,
    ),
    Limit(
        "residual oil in the charge, later editions",
        0.001,
        Basis.REFRIGERANT_CHARGE,
        "widely quoted for later editions of SAE J2788 and J2843; text and basis not confirmed",
        Certainty.MEMORY,
    ),
    Limit(
        "foreign oil in the compressor's oil",
        0.01,
        Basis.OIL_OF_CIRCUIT,
        "training material: 1 % PAG lowers the insulation of POE from about 10 to under 1 megohm",
        Certainty.SECONDARY,
    ),
)


class Verdict(StrEnum):
    """Whether the estimate stays within every limit of the set."""

    WITHIN_ALL = "within_all"
    ABOVE_SOME = "above_some"


@dataclass(frozen=True)
class LimitCheck:
    """One limit against the estimate: share reached [-], whether it is met, purges that would meet it.

    ``purges_needed`` is None where purging as described never gets there.
    """

    limit: Limit
    share: float
    met: bool
    purges_needed: int | None


@dataclass(frozen=True)
class CarryOver:
    """The estimate: residue after the purges [kg] and each limit of the set."""

    residue_kg: float
    hose_volume_m3: float
    purge_volume_m3: float
    purges: int
    purging: Purging
    mixing: float
    transferred: float
    oil_kg: float
    refrigerant_kg: float
    kept_per_purge: float
    residue_after_kg: float
    checks: tuple[LimitCheck, ...]
    verdict: Verdict
    warnings: tuple[Notice, ...]
    source: str = SOURCE
    method_version: str = METHOD_VERSION


WARNINGS = (
    Notice(
        "estimate",
        "An estimate until residue and mixing are calibrated by weighing a rinsed hose; it never permits a "
        "connection that is refused.",
    ),
    Notice(
        "no_conductivity",
        "How much this lowers the insulation of the oil can't be computed: no published curve exists.",
    ),
)


def carry_over(
    residue_kg: float,
    *,
    hose_volume_m3: float,
    purge_volume_m3: float,
    purges: int,
    oil_kg: float,
    refrigerant_kg: float,
    mixing: float,
    purging: Purging = Purging.FILL_AND_DRAIN,
    transferred: float = 1.0,
    limits: Sequence[Limit] = LIMITS,
) -> CarryOver:
    """Estimate the foreign oil that a purged hose can bring into a circuit, against a set of limits.

    Parameters:
        residue_kg: foreign oil in the hose before purging [kg].
        hose_volume_m3: volume of the hose [m³].
        purge_volume_m3: volume of liquid of one purge [m³].
        purges: number of equal purges.
        oil_kg: the circuit's own oil [kg].
        refrigerant_kg: the circuit's charge [kg].
        mixing: share of the film that takes part [-], 0.3 poor to 1 ideal.
        purging: filled, mixed and drained, or flowing through.
        transferred: share of the residue that reaches the circuit [-]; 1 is the worst case.
        limits: the limits to compare with, each with its basis.

    Returns: residue after the purges [kg] and each limit with its share [-] and the purges it needs.

    Raises ``not_a_number``, ``mass``, ``volume``, ``purges``, ``share``, ``limits``.

    Source: ideal dilution with an incomplete-mixing factor; an estimate until calibrated by weighing.
    """
    _check(residue_kg, oil_kg, refrigerant_kg, hose_volume_m3, purge_volume_m3, mixing, transferred)
    _check_purges(purges)
    if not limits:
        raise Refusal("limits", "Choose at least one limit with its basis: without one there is no answer.")
    kept = kept_per_purge(hose_volume_m3, purge_volume_m3, purging, mixing)
    after = residue_kg * kept**purges
    bases = {Basis.OIL_OF_CIRCUIT: oil_kg, Basis.REFRIGERANT_CHARGE: refrigerant_kg}
    checks = tuple(
        _check_limit(limit, after * transferred, residue_kg * transferred, kept, bases[limit.basis])
        for limit in limits
    )
    return CarryOver(
        residue_kg=residue_kg,
        hose_volume_m3=hose_volume_m3,
        purge_volume_m3=purge_volume_m3,
        purges=purges,
        purging=purging,
        mixing=mixing,
        transferred=transferred,
        oil_kg=oil_kg,
        refrigerant_kg=refrigerant_kg,
        kept_per_purge=kept,
        residue_after_kg=after,
        checks=checks,
        verdict=Verdict.WITHIN_ALL if all(check.met for check in checks) else Verdict.ABOVE_SOME,
        warnings=WARNINGS,
    )


def kept_per_purge(hose_volume_m3: float, purge_volume_m3: float, purging: Purging, mixing: float) -> float:
    """Return the share [-] of the residue that one purge leaves behind; both volumes [m³]."""
    if purging is Purging.FLOW_THROUGH:
        ideal = math.exp(-purge_volume_m3 / hose_volume_m3)
    else:
        ideal = hose_volume_m3 / (hose_volume_m3 + purge_volume_m3)
    return 1 - mixing * (1 - ideal)


def _check_limit(limit: Limit, now_kg: float, before_kg: float, kept: float, basis_kg: float) -> LimitCheck:
    share = now_kg / (basis_kg + now_kg)
    allowed_kg = limit.share * basis_kg / (1 - limit.share)
    return LimitCheck(limit, share, share <= limit.share, _purges_needed(before_kg, allowed_kg, kept))


def _purges_needed(before_kg: float, allowed_kg: float, kept: float) -> int | None:
    for purges in range(MOST_PURGES + 1):
        if before_kg * kept**purges <= allowed_kg:
            return purges
    return None


def _check(
    residue: float,
    oil: float,
    refrigerant: float,
    hose: float,
    purge: float,
    mixing: float,
    transferred: float,
) -> None:
    masses = {"residue_kg": (residue, 0.0), "oil_kg": (oil, 1e-3), "refrigerant_kg": (refrigerant, 1e-3)}
    for field, (mass, low) in masses.items():
        within(
            mass,
            low,
            LARGEST_MASS_KG,
            name="A mass",
            field=field,
            code="mass",
            message=f"The mass must be between {low * 1000:g} g and {LARGEST_MASS_KG:g} kg.",
        )
    for field, volume, low in (("hose_volume_m3", hose, 1e-6), ("purge_volume_m3", purge, 0.0)):
        within(
            volume,
            low,
            LARGEST_VOLUME_M3,
            name="A volume",
            field=field,
            code="volume",
            message=f"The volume must be between {low * 1e6:g} ml and {LARGEST_VOLUME_M3 * 1000:g} litres.",
        )
    for field, share in (("mixing", mixing), ("transferred", transferred)):
        within(
            share, 0, 1, name="A share", field=field, code="share", message="A share must be between 0 and 1."
        )


def _check_purges(purges: int) -> None:
    if isinstance(purges, bool) or not isinstance(purges, int) or not 0 <= purges <= MOST_PURGES:
        raise Refusal("purges", f"The number of purges must be between 0 and {MOST_PURGES}.", field="purges")
