"""The vehicle's floors of insulation resistance, in ohm per volt of working voltage."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from shopcool.engineering.limits import within
from shopcool.engineering.results import Notice

METHOD_VERSION = "insulation-floor 1"
SOURCE = "UN R100 5.1.3; ISO 6469-4:2015 5.2.2 and 5.2.3 (excerpt)"
HIGHEST_WORKING_V = 1500.0
OHM_PER_VOLT_DC = 100.0
OHM_PER_VOLT_AC = 500.0


class Bus(StrEnum):
    """How the high-voltage buses of the vehicle are built."""

    DC = "dc"
    AC_OR_COUPLED = "ac_or_coupled"
    AC_DOUBLY_PROTECTED = "ac_doubly_protected"


@dataclass(frozen=True)
class Floor:
    """The least insulation a vehicle may have: resistance [ohm] and the current it lets pass [A]."""

    working_voltage_v: float
    bus: Bus
    ohm_per_volt: float
    resistance_ohm: float
    current_a: float
    warnings: tuple[Notice, ...]
    source: str = SOURCE
    method_version: str = METHOD_VERSION


NOT_A_COMPONENT_LIMIT = Notice(
    "not_a_component_limit",
    "A floor for the whole vehicle, far below what makers ask of one compressor: the component limit is "
    "the maker's.",
)


def floor(working_voltage_v: float, bus: Bus) -> Floor:
    """Return the insulation floor of a vehicle.

    Parameters:
        working_voltage_v: highest working voltage of the bus [V], up to 1500.
        bus: kind of bus; coupled alternating and direct buses count as alternating unless doubly protected.

    Returns: floor with its resistance [ohm] and current [A].

    Raises ``not_a_number``, ``working_voltage``.

    Source: UN R100 5.1.3: 100 ohm per volt for direct, 500 for alternating current.
    """
    check_working_voltage(working_voltage_v)
    per_volt = OHM_PER_VOLT_AC if bus is Bus.AC_OR_COUPLED else OHM_PER_VOLT_DC
    resistance = per_volt * working_voltage_v
    return Floor(
        working_voltage_v=working_voltage_v,
        bus=bus,
        ohm_per_volt=per_volt,
        resistance_ohm=resistance,
        current_a=working_voltage_v / resistance,
        warnings=(NOT_A_COMPONENT_LIMIT,),
    )


def check_working_voltage(working_voltage_v: float) -> None:
    """Refuse a working voltage [V] that no vehicle has, with ``working_voltage``."""
    within(
        working_voltage_v,
        1.0,
        HIGHEST_WORKING_V,
        name="The working voltage",
        field="working_voltage_v",
        code="working_voltage",
        message="The working voltage must be between 1 and 1500 V.",
    )
