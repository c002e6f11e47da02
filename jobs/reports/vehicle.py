"""The vehicle, who brings it, and its circuit as the label says."""

from __future__ import annotations

from django.utils.translation import gettext as _

from jobs.reports.gathering import Gathered
from jobs.reports.words import day_words, moment_words
from shopcool.core.documents import Fact, Group, Section
from shopcool.vehicles.sheets import circuit_facts


def visit_section(gathered: Gathered) -> Section:
    """Return the visit, the vehicle, the customer and the circuit."""
    groups = (
        Group(_("Visit"), _visit(gathered)),
        Group(_("Vehicle"), _vehicle(gathered)),
        Group(_("Circuit, as its label says"), _circuit(gathered)),
        Group(_("Customer"), _customer(gathered)),
    )
    return Section(_("Vehicle and visit"), groups=groups)


def known(label: str, value: object, note: str = "") -> Fact:
    """Return a fact, said to be unknown when there is no value."""
    text = str(value) if value not in (None, "") else ""
    return Fact(label, text or _("not known"), note, known=bool(text))


def _visit(gathered: Gathered) -> tuple[Fact, ...]:
    job = gathered.job
    checked_in = moment_words(job.checked_in_at) if job.checked_in_at else _("not yet")
    closed = moment_words(job.closed_at) if job.closed_at else _("not closed")
    optional = (
        Fact(_("Complaint"), job.complaint),
        Fact(_("Driving"), _("affected too") if job.affects_driving else ""),
        Fact(_("Bay"), job.bay),
        Fact(_("Technician"), str(job.technician or "")),
    )
    return (
        Fact(_("Service"), str(job.get_service_display())),
        Fact(_("Booked for"), moment_words(job.booked_for), _("by %(name)s") % {"name": job.booked_by}),
        Fact(_("Checked in"), checked_in, known=job.checked_in_at is not None),
        Fact(_("Closed"), closed, known=job.closed_at is not None),
        *(fact for fact in optional if fact.value),
        _next_service(gathered),
    )


def _next_service(gathered: Gathered) -> Fact:
    day = gathered.job.next_service_on
    return Fact(_("Next service"), day_words(day) if day else _("not set"), known=day is not None)


def _vehicle(gathered: Gathered) -> tuple[Fact, ...]:
    vehicle = gathered.job.circuit.vehicle
    return (
        Fact(_("Registration"), vehicle.registration),
        known(_("VIN"), vehicle.vin, vehicle.vin_reason),
        Fact(_("Make and model"), f"{vehicle.make} {vehicle.model}"),
        known(_("Model year"), vehicle.model_year),
    )


def _circuit(gathered: Gathered) -> tuple[Fact, ...]:
    circuit = gathered.job.circuit
    name = Fact(_("Circuit"), circuit.name)
    return (name, *(known(*fact) for fact in circuit_facts(circuit, gathered.shop, gathered.units)))


def _customer(gathered: Gathered) -> tuple[Fact, ...]:
    customer = gathered.job.circuit.vehicle.customer
    if customer is None:
        return (known(_("Name"), None),)
    contact = (Fact(_("Phone"), customer.phone), Fact(_("E-mail"), customer.email))
    return (Fact(_("Name"), customer.name), *(fact for fact in contact if fact.value))
