"""The fixed head of a job: which car, and what its label says; what is not known is said to be unknown."""

from __future__ import annotations

from dataclasses import dataclass

from django.urls import reverse
from django.utils.translation import gettext as _

from equipment.oil.words import oil_words
from jobs.models import Job
from jobs.pages.ways import job_url
from shopcool.engineering.quantities import Kind
from shopcool.shop.units import Units
from shopcool.vehicles.choices import Drive, Lubricant, Refrigerant
from shopcool.vehicles.models import Circuit


@dataclass(frozen=True)
class Fact:
    """One labelled value of the head; an empty one is not known."""

    label: str
    value: str
    note: str = ""


@dataclass(frozen=True)
class Head:
    """Identity and label data of the car on this job."""

    plate: str
    car: str
    customer: str
    number: str
    service: str
    status: str
    url: str
    vehicle_url: str
    facts: tuple[Fact, ...]
    is_high_voltage: bool
    drive: str
    affects_driving: bool = False


def drive_word(circuit: Circuit) -> str:
    """Return the drive in a word; the badge for high voltage says it alone where nothing else drives."""
    drive = Drive(circuit.drive)
    return "" if drive is Drive.ELECTRIC_HV else str(drive.label)


def head_of(job: Job, units: Units) -> Head:
    """Return the head of a job; circuit, vehicle and customer should be loaded."""
    vehicle = job.circuit.vehicle
    return Head(
        plate=vehicle.registration,
        car=" ".join(str(part) for part in (vehicle.make, vehicle.model, vehicle.model_year) if part),
        customer=str(vehicle.customer or ""),
        number=job.number,
        service=job.get_service_display(),
        status=job.get_status_display(),
        url=job_url(job.number),
        vehicle_url=reverse("vehicles:detail", args=[vehicle.pk]),
        facts=label_facts(job.circuit, units),
        is_high_voltage=job.circuit.is_high_voltage,
        drive=drive_word(job.circuit),
        affects_driving=job.affects_driving,
    )


def label_facts(circuit: Circuit, units: Units) -> tuple[Fact, ...]:
    """Return the label data of a circuit in the reader's units, with what was typed where it differs."""
    facts = [
        Fact(_("Refrigerant"), gas_of(circuit)),
        Fact(_("Label charge"), _charge(circuit, units), _typed(circuit, units)),
        Fact(_("Oil"), oil_of(circuit), _oil_amount(circuit, units)),
    ]
    if circuit.is_high_voltage:
        volts = circuit.working_voltage_v
        facts.append(Fact(_("Voltage"), "" if volts is None else f"{volts:g} V"))
    asked = maker_asks(circuit)
    if asked:
        facts.append(Fact(_("Maker asks"), asked, circuit.maker_source))
    return tuple(facts)


def maker_asks(circuit: Circuit) -> str:
    """Return what the vehicle maker asks of the equipment, in a few words; empty for nothing."""
    words = [
        _("no dye") if circuit.no_dye else "",
        _("dedicated hoses") if circuit.dedicated_hoses else "",
    ]
    return ", ".join(word for word in words if word)


def gas_of(circuit: Circuit) -> str:
    """Return the refrigerant in words, empty when unknown."""
    gas = Refrigerant(circuit.refrigerant)
    return "" if gas is Refrigerant.UNKNOWN else str(gas.label)


def oil_of(circuit: Circuit) -> str:
    """Return class and grade of the oil, empty when unknown."""
    oil = Lubricant(circuit.lubricant)
    return "" if oil is Lubricant.UNKNOWN else oil_words(oil, circuit.lubricant_grade)


def _charge(circuit: Circuit, units: Units) -> str:
    if circuit.charge_kg is None:
        return ""
    charge = units.shown(circuit.charge_kg, Kind.MASS)
    if circuit.tolerance_kg is None:
        return charge
    return f"{charge} ± {units.shown(circuit.tolerance_kg, Kind.MASS)}"


def _typed(circuit: Circuit, units: Units) -> str:
    """Return the label's own words when they are not in the reader's unit."""
    typed = circuit.charge_typed
    if not typed or typed.endswith(f" {units.mass}"):
        return ""
    return _("as typed: %(typed)s") % {"typed": typed}


def _oil_amount(circuit: Circuit, units: Units) -> str:
    return "" if circuit.oil_m3 is None else units.shown(circuit.oil_m3, Kind.VOLUME)
