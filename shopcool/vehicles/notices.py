"""What is odd about a vehicle, and what is missing for which work: pure rules that warn, never refuse."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from django.utils.translation import gettext as _

from shopcool.engineering.errors import Refusal
from shopcool.engineering.results import Notice
from shopcool.engineering.vin import check_vin
from shopcool.vehicles.choices import Lubricant, Metering, Refrigerant
from shopcool.vehicles.label import parse_label_charge
from shopcool.vehicles.models import Circuit, Vehicle

#: A direct voltage above this is high voltage: UN Regulation No. 100 and 49 CFR 571.305 S4.
HIGH_VOLTAGE_V = 60.0


@dataclass(frozen=True)
class Missing:
    """Something nobody has entered, and what can't be done or judged without it."""

    what: str
    needed_for: str


def vin_notices(vehicle: Vehicle) -> list[Notice]:
    """Return what is odd about the identification number of a vehicle."""
    if not vehicle.vin:
        return [Notice("vin_missing", _("No vehicle identification number is on record."))]
    result = check_vin(vehicle.vin, reason=vehicle.vin_reason or "-")
    notices = list(result.notices)
    if vehicle.model_year and result.model_years and vehicle.model_year not in result.model_years:
        years = ", ".join(str(year) for year in result.model_years)
        sentence = _("The number speaks of model year %(years)s, entered is %(entered)d.")
        notices.append(Notice("model_year", sentence % {"years": years, "entered": vehicle.model_year}))
    return notices


def circuit_notices(circuit: Circuit) -> list[Notice]:
    """Return what is odd about the data of a circuit."""
    return [*_charge_notices(circuit), *_drive_notices(circuit)]


def _charge_notices(circuit: Circuit) -> tuple[Notice, ...]:
    if not circuit.charge_typed:
        return ()
    try:
        return parse_label_charge(circuit.charge_typed, default_unit="kg").notices
    except Refusal:
        # A charge that came without a label text, from another system, has no second unit to compare.
        return ()


def _drive_notices(circuit: Circuit) -> Iterator[Notice]:
    voltage = circuit.working_voltage_v
    if circuit.is_high_voltage and circuit.lubricant == Lubricant.PAG:
        sentence = _(
            "A high-voltage compressor with PAG oil is unusual: PAG conducts. Read the label and the vehicle "
            "maker's data again."
        )
        yield Notice("high_voltage_pag", sentence)
    if circuit.is_high_voltage and voltage is not None and voltage <= HIGH_VOLTAGE_V:
        sentence = _("%(volts).0f V is no high voltage: check the drive and the voltage.") % {
            "volts": voltage
        }
        yield Notice("voltage_low", sentence)
    if not circuit.is_high_voltage and voltage is not None and voltage > HIGH_VOLTAGE_V:
        sentence = _("%(volts).0f V is high voltage, but the drive is not: check both before any work.")
        yield Notice("voltage_high", sentence % {"volts": voltage})


def missing_data(circuit: Circuit) -> list[Missing]:
    """Return what is unknown about a circuit, the most needed first."""
    return list(_missing(circuit))


def _missing(circuit: Circuit) -> Iterator[Missing]:
    if circuit.refrigerant == Refrigerant.UNKNOWN:
        yield Missing(_("Refrigerant"), _("Nothing can be connected or recovered before it is known."))
    if circuit.lubricant == Lubricant.UNKNOWN:
        yield Missing(_("Oil class"), _("No oil can be added, and what the oil leaves in hoses is unknown."))
    if circuit.charge_kg is None:
        yield Missing(_("Label charge"), _("The circuit can't be charged, and a weighing can't be judged."))
    elif circuit.tolerance_kg is None:
        yield Missing(_("Tolerance of the charge"), _("The charge is then judged by the scale alone."))
    if circuit.oil_m3 is None:
        yield Missing(_("Oil in the circuit"), _("The oil balance after replaced parts needs it."))
    if not circuit.oil_rule:
        sentence = _("Without it nobody can say how much oil belongs into a circuit with new parts.")
        yield Missing(_("Oil rule of the vehicle maker"), sentence)
    if circuit.is_high_voltage and circuit.working_voltage_v is None:
        yield Missing(_("Working voltage"), _("The insulation test can't be judged per volt without it."))
    if circuit.is_high_voltage and circuit.high_voltage_wait_minutes is None:
        yield Missing(_("Wait after shut-down"), _("The shop's own wait is used until the maker's is known."))
    if circuit.metering == Metering.UNKNOWN:
        yield Missing(_("Expansion device"), _("Pressures are harder to explain without it."))
