"""A car and its circuit, as the tests enter them."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from shopcool.people.models import User
from shopcool.vehicles.choices import Drive, Lubricant, Refrigerant
from shopcool.vehicles.data import CircuitData, VehicleData
from shopcool.vehicles.models import Vehicle
from shopcool.vehicles.services.vehicles import vehicle_create

# 49 CFR 565.15(c), table VI: the worked example of the check digit.
PUBLISHED_VIN = "1G4AH59H45G118341"

CAR = VehicleData(registration="HB-AC 214", make="Nordwind", model="Kestrel", model_year=2005)
BELT_CIRCUIT = CircuitData(drive=Drive.BELT, refrigerant=Refrigerant.R134A, lubricant=Lubricant.PAG)

TYPED: dict[str, Any] = {
    "registration": "HB-AC 214",
    "make": "Nordwind",
    "model": "Kestrel",
    "model_year": "2005",
    "vin": PUBLISHED_VIN,
    "vin_reason": "",
    "customer_name": "Ines Falk",
    "customer_phone": "0421 555 0138",
    "customer_email": "",
    "drive": "ELECTRIC_HV",
    "refrigerant": "R1234YF",
    "charge": "0,55 kg ± 20 g",
    "lubricant": "POE",
    "lubricant_grade": "Ester 68",
    "oil": "120",
    "oil_unit": "ml",
    "working_voltage": "400",
    "working_voltage_unit": "V",
    "high_voltage_wait_minutes": "",
    "metering": "EXPANSION_VALVE",
    "label_source": "Label under the bonnet",
    "name": "A/C",
}


def car(actor: User, now: datetime, **changes: Any) -> Vehicle:
    """Return a car with a belt-driven circuit."""
    entered = {field: getattr(CAR, field) for field in CAR.__dataclass_fields__} | changes
    return vehicle_create(actor=actor.as_actor(), data=VehicleData(**entered), circuit=BELT_CIRCUIT, now=now)
