"""The vehicles of the invented workshop. Makes, plates and people are invented."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from shopcool.core.actors import Actor
from shopcool.engineering.quantities import Kind, parse
from shopcool.engineering.vin import check_digit
from shopcool.vehicles.choices import Drive, Lubricant, Metering, Refrigerant
from shopcool.vehicles.data import CircuitData, CustomerData, VehicleData
from shopcool.vehicles.label import parse_label_charge
from shopcool.vehicles.models import Circuit
from shopcool.vehicles.services.vehicles import vehicle_create


@dataclass(frozen=True)
class Car:
    """One invented car and what its label says, as typed."""

    plate: str
    make: str
    model: str
    year: int
    vin: str
    customer: str
    phone: str
    drive: Drive
    refrigerant: Refrigerant = Refrigerant.UNKNOWN
    charge: str = ""
    lubricant: Lubricant = Lubricant.UNKNOWN
    grade: str = ""
    oil: str = ""
    voltage: str = ""
    metering: Metering = Metering.EXPANSION_VALVE
    oil_rule: str = ""


def _vin(pattern: str) -> str:
    """Return the number with its check digit in position 9."""
    return pattern.replace("_", check_digit(pattern.replace("_", "0")))


CARS = {
    "belt": Car(
        "TQ 104 B", "Corvo", "Trail 2.0", 2014, _vin("1SC4AH59_EG118341"), "Noor Bakker", "555 0104",
        Drive.BELT, Refrigerant.R134A, "520 ± 20 g", Lubricant.PAG, "PAG 46", "120 ml",
        metering=Metering.ORIFICE_TUBE,
        oil_rule=(
            "source Corvo workshop book, chapter 8, page 31\nnew compressor holds 120\n"
            "drained at least 50\npart condenser 25\npart accumulator drained plus 30\ncircuit holds 120"
        ),
    ),
    "hybrid": Car(
        "TQ 211 H", "Marlin", "Estate Hybrid", 2019, "SC1ZZZM2ZKT000211", "Elif Aydın", "555 0211",
        Drive.BELT, Refrigerant.R1234YF, "0,480 ± 0,015 kg", Lubricant.PAG, "PAG 46", "110 ml",
    ),
    "dual": Car(
        "TQ 308 D", "Marlin", "Shuttle", 2010, _vin("1SC4DH31_AG000308"), "Harbour Taxi Co-operative",
        "555 0308", Drive.DUAL, Refrigerant.R134A, "465-515 g {16.5-18.1 oz}", Lubricant.POE, "POE 68",
        "150 ml", "288 V",
    ),
    "electric": Car(
        "TQ 400 E", "Aster", "City", 2021, "SC1ZZZA4ZMT000400", "Paweł Żurawski", "555 0400",
        Drive.ELECTRIC_HV, Refrigerant.R1234YF, "550 ± 20 g", Lubricant.POE, "POE 68", "140 ml", "400 V",
        Metering.ELECTRONIC_VALVE,
    ),
    "electric_800": Car(
        "TQ 800 E", "Aster", "Grand Tour", 2025, "SC1ZZZA8ZST000800", "Ioanna Georgiou", "555 0800",
        Drive.ELECTRIC_HV, Refrigerant.R1234YF, "760 ± 20 g", Lubricant.POE, "POE 68", "180 ml", "800 V",
        Metering.ELECTRONIC_VALVE,
    ),
    "unknown": Car(
        "TQ 999 X", "Imported", "Delivery van", 2012, "", "Quayside Flowers", "555 0999", Drive.ELECTRIC_HV,
        metering=Metering.UNKNOWN,
    ),
}  # fmt: skip


def circuits_create(desk: Actor, now: datetime) -> dict[str, Circuit]:
    """Create every vehicle with its circuit and return the circuits by name."""
    return {name: _create(desk, car, now) for name, car in CARS.items()}


def _create(desk: Actor, car: Car, now: datetime) -> Circuit:
    vehicle = vehicle_create(
        actor=desk,
        data=VehicleData(
            registration=car.plate,
            make=car.make,
            model=car.model,
            model_year=car.year,
            vin=car.vin,
            customer=CustomerData(name=car.customer, phone=car.phone),
        ),
        circuit=CircuitData(
            drive=car.drive,
            refrigerant=car.refrigerant,
            charge=parse_label_charge(car.charge, default_unit="g") if car.charge else None,
            lubricant=car.lubricant,
            lubricant_grade=car.grade,
            oil=parse(car.oil, Kind.VOLUME, default_unit="ml") if car.oil else None,
            working_voltage=parse(car.voltage, Kind.VOLTAGE, default_unit="V") if car.voltage else None,
            metering=car.metering,
            oil_rule=car.oil_rule,
            label_source="underhood label" if car.charge else "",
        ),
        now=now,
    )
    return Circuit.objects.select_related("vehicle").get(vehicle=vehicle)
