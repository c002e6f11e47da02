"""How much conductive oil could still reach a circuit after the purges on record: an estimate."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from equipment.choices import ExposureKind
from equipment.models import Exposure
from equipment.selectors import hose_measures
from shopcool.engineering import properties
from shopcool.engineering.carry_over import CarryOver, Purging, carry_over, kept_per_purge
from shopcool.shop.selectors import shop_get
from shopcool.vehicles.choices import Lubricant, Refrigerant
from shopcool.vehicles.gas import serviced_fluid_of
from shopcool.vehicles.models import Circuit

#: Share of the oil film that a purge reaches at best.
IDEAL = 1.0
#: Used where the label does not say: the circuit's oil and charge [kg], and the density of its oil [kg/m³].
USUAL_OIL_KG, USUAL_CHARGE_KG, OIL_DENSITY = 0.12, 0.5, 1000.0
LIQUID_K = 298.15


@dataclass(frozen=True)
class Assumed:
    """What holds until a rinsed piece is weighed: oil left in it [kg], its volume [m³], share reached."""

    oil_kg: float = 2e-3
    volume_m3: float = 60e-6
    mixing: float = 0.3


@dataclass(frozen=True)
class Met:
    """One piece that has held conductive oil: its code, the liquid of each verified purge since [m³].

    ``volume_m3`` [m³] is what it holds by its page, None while nobody measured it.
    """

    code: str
    purges_m3: tuple[float, ...]
    volume_m3: float | None = None


@dataclass(frozen=True)
class Carrying:
    """The estimate for the chosen pieces together, by poor mixing (``worst``) and by ideal mixing."""

    pieces: tuple[Met, ...]
    worst: CarryOver
    best: CarryOver
    assumed: Assumed = Assumed()


def carrying_of(circuit: Circuit, piece_ids: Collection[int]) -> Carrying | None:
    """Return the estimate, None without high voltage or for pieces that never met conductive oil."""
    if not circuit.is_high_voltage or not piece_ids:
        return None
    rows = Exposure.objects.filter(piece__in=piece_ids, corrected_by=None).select_related("piece", "purge")
    pieces = _conductive(rows.order_by("piece__code", "occurred_at", "sequence"))
    shop = shop_get()
    assumed = Assumed(shop.carry_oil_kg, shop.carry_volume_m3, shop.carry_mixing)
    return estimate(pieces, circuit.oil_m3, circuit.charge_kg, assumed) if pieces else None


def estimate(
    pieces: Sequence[Met], oil_m3: float | None, charge_kg: float | None, assumed: Assumed | None = None
) -> Carrying:
    """Return how much of the oil in pieces could reach a circuit with this oil [m³] and charge [kg]."""
    oil = USUAL_OIL_KG if oil_m3 is None else oil_m3 * OIL_DENSITY
    charge = USUAL_CHARGE_KG if charge_kg is None else charge_kg
    assumed = assumed or Assumed()
    mixings = (assumed.mixing, IDEAL)
    worst, best = (_together(pieces, oil, charge, assumed, mixing) for mixing in mixings)
    return Carrying(tuple(pieces), worst, best, assumed)


def _together(pieces: Sequence[Met], oil: float, charge: float, assumed: Assumed, mixing: float) -> CarryOver:
    left = math.fsum(
        assumed.oil_kg
        * math.prod(_kept(piece.volume_m3 or assumed.volume_m3, purge, mixing) for purge in piece.purges_m3)
        for piece in pieces
    )
    return carry_over(
        left,
        hose_volume_m3=assumed.volume_m3,
        purge_volume_m3=assumed.volume_m3,
        purges=0,
        oil_kg=oil,
        refrigerant_kg=charge,
        mixing=mixing,
        purging=Purging.FLOW_THROUGH,
    )


def _kept(volume_m3: float, purge_m3: float, mixing: float) -> float:
    return kept_per_purge(volume_m3, purge_m3, Purging.FLOW_THROUGH, mixing)


def _conductive(rows: Iterable[Exposure]) -> list[Met]:
    """Return the pieces that met conductive oil, each with its verified purges since the last time."""
    found: dict[str, list[float]] = {}
    volumes: dict[str, float] = {}
    for row in rows:
        code, volume = row.piece.code, hose_measures(row.piece).volume
        if volume is not None:
            volumes[code] = volume.volume_m3
        if row.kind == ExposureKind.PURGED and row.verified:
            if code in found and row.purge is not None:
                found[code].append(_liquid_m3(row.purge.circulated_kg, Refrigerant(row.purge.refrigerant)))
        elif Lubricant.PAG in row.lubricants:
            found[code] = []
    return [Met(code, tuple(purges), volumes.get(code)) for code, purges in found.items()]


def _liquid_m3(mass_kg: float | None, refrigerant: Refrigerant) -> float:
    """Return the liquid that went through a loop [m³]; 0 when nobody read it."""
    fluid = serviced_fluid_of(refrigerant)
    if mass_kg is None or fluid is None:
        return 0.0
    return mass_kg / properties.saturated_density_kg_m3(fluid, LIQUID_K, quality=0.0)
