"""How much conductive oil could still reach a circuit after the purges on record: an estimate."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from equipment.choices import ExposureKind
from equipment.models import Exposure
from jobs.steps.gas import serviced_fluid_of
from shopcool.engineering import properties
from shopcool.engineering.carry_over import CarryOver, Purging, carry_over, kept_per_purge
from shopcool.vehicles.choices import Lubricant, Refrigerant
from shopcool.vehicles.models import Circuit

#: What is assumed until the shop weighs a rinsed hose: oil left in a drained piece [kg], its volume [m³].
OIL_LEFT_KG = 2e-3
PIECE_VOLUME_M3 = 60e-6
#: Share of the oil film that a purge reaches: poor and ideal.
POOR, IDEAL = 0.3, 1.0
#: Used where the label does not say: the circuit's oil and charge [kg], and the density of its oil [kg/m³].
USUAL_OIL_KG, USUAL_CHARGE_KG, OIL_DENSITY = 0.12, 0.5, 1000.0
LIQUID_K = 298.15


@dataclass(frozen=True)
class Met:
    """One piece that has held conductive oil: its code and the liquid of each verified purge since [m³]."""

    code: str
    purges_m3: tuple[float, ...]


@dataclass(frozen=True)
class Carrying:
    """The estimate for the chosen pieces together, by poor mixing (``worst``) and by ideal mixing."""

    pieces: tuple[Met, ...]
    worst: CarryOver
    best: CarryOver


def carrying_of(circuit: Circuit, piece_ids: Collection[int]) -> Carrying | None:
    """Return the estimate, None without high voltage or for pieces that never met conductive oil."""
    if not circuit.is_high_voltage or not piece_ids:
        return None
    rows = Exposure.objects.filter(piece__in=piece_ids, corrected_by=None).select_related("piece", "purge")
    pieces = _conductive(rows.order_by("piece__code", "occurred_at", "sequence"))
    return estimate(pieces, circuit.oil_m3, circuit.charge_kg) if pieces else None


def estimate(pieces: Sequence[Met], oil_m3: float | None, charge_kg: float | None) -> Carrying:
    """Return how much of the oil in pieces could reach a circuit with this oil [m³] and charge [kg]."""
    oil = USUAL_OIL_KG if oil_m3 is None else oil_m3 * OIL_DENSITY
    charge = USUAL_CHARGE_KG if charge_kg is None else charge_kg
    worst, best = (_together(pieces, oil, charge, mixing) for mixing in (POOR, IDEAL))
    return Carrying(tuple(pieces), worst, best)


def _together(pieces: Sequence[Met], oil: float, charge: float, mixing: float) -> CarryOver:
    left = math.fsum(
        OIL_LEFT_KG * math.prod(_kept(volume, mixing) for volume in piece.purges_m3) for piece in pieces
    )
    return carry_over(
        left,
        hose_volume_m3=PIECE_VOLUME_M3,
        purge_volume_m3=PIECE_VOLUME_M3,
        purges=0,
        oil_kg=oil,
        refrigerant_kg=charge,
        mixing=mixing,
        purging=Purging.FLOW_THROUGH,
    )


def _kept(purge_m3: float, mixing: float) -> float:
    return kept_per_purge(PIECE_VOLUME_M3, purge_m3, Purging.FLOW_THROUGH, mixing)


def _conductive(rows: Iterable[Exposure]) -> list[Met]:
    """Return the pieces that met conductive oil, each with its verified purges since the last time."""
    found: dict[str, list[float]] = {}
    for row in rows:
        code = row.piece.code
        if row.kind == ExposureKind.PURGED and row.verified:
            if code in found and row.purge is not None:
                found[code].append(_liquid_m3(row.purge.circulated_kg, Refrigerant(row.purge.refrigerant)))
        elif Lubricant.PAG in row.lubricants:
            found[code] = []
    return [Met(code, tuple(purges)) for code, purges in found.items()]


def _liquid_m3(mass_kg: float | None, refrigerant: Refrigerant) -> float:
    """Return the liquid that went through a loop [m³]; 0 when nobody read it."""
    fluid = serviced_fluid_of(refrigerant)
    if mass_kg is None or fluid is None:
        return 0.0
    return mass_kg / properties.saturated_density_kg_m3(fluid, LIQUID_K, quality=0.0)
