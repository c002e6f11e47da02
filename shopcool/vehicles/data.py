"""What is entered about a vehicle, its customer and its circuit, as the services take it."""

from __future__ import annotations

from dataclasses import dataclass

from shopcool.engineering.quantities import Quantity
from shopcool.vehicles.choices import Drive, Lubricant, Metering, Refrigerant
from shopcool.vehicles.label import LabelCharge

FIRST_MODEL_YEAR = 1900
SMALLEST_OIL_M3, LARGEST_OIL_M3 = 10e-6, 0.01
SMALLEST_VOLTAGE_V, LARGEST_VOLTAGE_V = 6.0, 1500.0
LONGEST_WAIT_MINUTES = 240
LOWEST_SEARCH_PA, HIGHEST_SEARCH_PA = 50_000.0, 5e6
COLDEST_SEARCH_K, WARMEST_SEARCH_K = 253.15, 333.15


@dataclass(frozen=True)
class CustomerData:
    """Who brings the vehicle."""

    name: str
    phone: str = ""
    email: str = ""


@dataclass(frozen=True)
class VehicleData:
    """A vehicle as entered. ``same_registration`` says that another vehicle with the plate is known."""

    registration: str
    make: str
    model: str
    model_year: int | None = None
    vin: str = ""
    vin_reason: str = ""
    customer: CustomerData | None = None
    same_registration: bool = False


@dataclass(frozen=True)
class CircuitData:
    """A circuit as its label says; None and UNKNOWN are unknown, never zero.

    What the vehicle maker asks of equipment and leak search (``no_dye`` and what follows) names its source.
    """

    drive: str
    name: str = "A/C"
    refrigerant: str = Refrigerant.UNKNOWN
    charge: LabelCharge | None = None
    lubricant: str = Lubricant.UNKNOWN
    lubricant_grade: str = ""
    oil: Quantity | None = None
    working_voltage: Quantity | None = None
    metering: str = Metering.UNKNOWN
    high_voltage_wait_minutes: int | None = None
    label_source: str = ""
    oil_rule: str = ""
    no_dye: bool = False
    dedicated_hoses: bool = False
    search_pressure: Quantity | None = None
    search_temperature: Quantity | None = None
    maker_source: str = ""

    @property
    def is_high_voltage(self) -> bool:
        """Whether the electric rule applies."""
        return Drive(self.drive).is_high_voltage
