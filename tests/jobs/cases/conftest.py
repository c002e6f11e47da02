"""The cars of the cases: each stands on a bay of its own for the whole module; tests leave no trace on it."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from django.db import transaction
from pytest_django.plugin import DjangoDbBlocker

from jobs.choices import ServiceKind, StepKind
from shopcool.vehicles.choices import Drive, Lubricant, Metering, Refrigerant
from tests.equipment.workshop import Workshop
from tests.jobs.bay import Bay
from tests.jobs.cases.car import Car


@pytest.fixture(scope="package")
def workshop_of_cars(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[Workshop]:
    """A workshop that outlives one test; everything is rolled back in the end."""
    with django_db_blocker.unblock(), transaction.atomic():
        yield Workshop()
        transaction.set_rollback(True)


@pytest.fixture(scope="package")
def petrol_car(workshop_of_cars: Workshop) -> Car:
    """A belt-driven car on R-134a with the machine on it, before its first reading."""
    return Car(belt_driven(workshop_of_cars, 1).up_to_connection())


@pytest.fixture(scope="package")
def emptied_car(workshop_of_cars: Workshop) -> Car:
    """A belt-driven car in repair: 480 g of a label of 550 g came out."""
    return Car(belt_driven(workshop_of_cars, 2, ServiceKind.REPAIR).up_to(StepKind.RECOVERY))


@pytest.fixture(scope="package")
def electric_car(workshop_of_cars: Workshop) -> Car:
    """A high-voltage car on R-1234yf and POE with the machine on it, before its first reading."""
    return Car(Bay(workshop_of_cars, place=3).up_to_connection())


@pytest.fixture(scope="package")
def arrived_car(workshop_of_cars: Workshop) -> Car:
    """A high-voltage car on R-1234yf and 120 ml of POE that has just come in, with the machine beside it."""
    bay = Bay(workshop_of_cars, place=4).checked_in()
    bay.job.circuit.oil_m3 = 120e-6
    bay.job.circuit.save()
    return Car(bay)


@pytest.fixture(scope="package")
def recovered_car(workshop_of_cars: Workshop) -> Car:
    """A high-voltage car in repair: 480 g of a label of 550 g came out, with 5 ml of oil."""
    return Car(Bay(workshop_of_cars, ServiceKind.REPAIR, place=5).up_to(StepKind.RECOVERY))


def belt_driven(workshop: Workshop, place: int, service: ServiceKind = ServiceKind.AC_SERVICE) -> Bay:
    """Return a car with a belt, R-134a, PAG and an expansion valve."""
    bay = Bay(workshop, service, Drive.BELT, Lubricant.PAG, Refrigerant.R134A, place)
    bay.job.circuit.metering = Metering.EXPANSION_VALVE
    bay.job.circuit.save()
    return bay
