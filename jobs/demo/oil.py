"""The oil shelf of the invented workshop: lots in every state, and injectors filled from them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from equipment.models import Piece
from equipment.oil.filling import injector_fill
from equipment.oil.lots import LotDescription, oil_lot_open, oil_lot_receive
from equipment.oil.models import OilLot
from equipment.oil.vials import VialReadings, oil_lot_test
from shopcool.core.actors import Actor
from shopcool.engineering.quantities import Kind, Quantity, parse
from shopcool.vehicles.choices import Lubricant


@dataclass(frozen=True)
class DemoLot:
    """A lot as invented: what is printed on it, and how long before opening day it came."""

    code: str
    lubricant: Lubricant
    grade: str
    batch: str
    size: str
    density: str
    days_before: int = 3
    low: str = "100 ml"


LOTS = (
    DemoLot("L-1", Lubricant.POE, "POE 68", "TQ-4471", "250 ml", "0.96"),
    DemoLot("L-2", Lubricant.POE, "POE 68", "TQ-4590", "500 ml", "0.96"),
    DemoLot("L-3", Lubricant.PAG, "PAG 46", "RW 220/7", "1 l", "0.99", low="900 ml"),
    DemoLot("L-4", Lubricant.PAO, "PAO 68", "N-18", "250 ml", "0.84", days_before=40),
)


def shelf_fill(owner: Actor, now: datetime) -> dict[str, OilLot]:
    """Put the lots on the shelf on the first day; one has been open for long already."""
    lots = {lot.code: _receive(owner, lot, now) for lot in LOTS}
    oil_lot_open(actor=owner, lot=lots["L-1"], opened_at=now - timedelta(days=1), now=now)
    readings = VialReadings(
        resistance=_read("> 2.2 GΩ", Kind.RESISTANCE, "MΩ"),
        nominal_voltage=_read("500", Kind.VOLTAGE, "V"),
        mixed=True,
    )
    oil_lot_test(actor=owner, lot=lots["L-1"], readings=readings, now=now, note="jar 3")
    return lots


def injectors_fill(technician: Actor, pieces: dict[str, Piece], now: datetime) -> None:
    """Fill the injectors for electric and belt cars from fresh lots."""
    for injector, lot, amount in (
        ("I-4", "L-2", "120 ml"),
        ("I-2", "L-2", "60 ml"),
        ("I-3", "L-3", "4 US fl oz"),
    ):
        injector_fill(
            actor=technician,
            injector=pieces[injector],
            lot=OilLot.objects.get(code=lot),
            amount=_read(amount, Kind.VOLUME, "ml"),
            now=now,
        )


def _receive(owner: Actor, lot: DemoLot, now: datetime) -> OilLot:
    description = LotDescription(
        code=lot.code,
        lubricant=lot.lubricant,
        grade=lot.grade,
        supplier="Harbour Lubricants",
        batch=lot.batch,
        container=_read(lot.size, Kind.VOLUME, "ml"),
        density=_read(lot.density, Kind.DENSITY, "g/ml"),
        density_source="Data sheet of the grade, 20 °C",
        received_on=(now - timedelta(days=lot.days_before)).date(),
        low=_read(lot.low, Kind.VOLUME, "ml"),
    )
    return oil_lot_receive(actor=owner, description=description, now=now)


def _read(text: str, kind: Kind, unit: str) -> Quantity:
    return parse(text, kind, default_unit=unit)
