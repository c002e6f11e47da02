"""Label data that change while pieces are on the vehicle are judged again at once."""

from __future__ import annotations

from dataclasses import replace

import pytest
from django.urls import reverse

from equipment.choices import IncidentKind
from equipment.exposure import Residue
from equipment.incidents import Incident
from equipment.models import Exposure, Piece
from equipment.selectors import condition_as_of
from equipment.services.exposures import contact_declare, exposure_withdraw
from shopcool.people.models import User
from shopcool.vehicles.choices import Drive, Lubricant, Refrigerant
from shopcool.vehicles.data import CircuitData
from shopcool.vehicles.models import Circuit
from shopcool.vehicles.services.circuits import circuit_update
from tests.equipment.workshop import Workshop
from tests.people_fixtures import SignedIn

BELT = CircuitData(drive=Drive.BELT, refrigerant=Refrigerant.R1234YF, lubricant=Lubricant.PAG)
ELECTRIC = replace(BELT, drive=Drive.ELECTRIC_HV, lubricant=Lubricant.POE)


@pytest.fixture
def hoses(workshop: Workshop) -> Piece:
    """Hoses that hold PAG of an earlier car."""
    hoses = workshop.piece("H-1")
    workshop.purge(workshop.machine(), hoses)
    workshop.connect(workshop.circuit(Drive.BELT, Lubricant.PAG), hoses)
    workshop.disconnect()
    return hoses


def _change(workshop: Workshop, circuit: Circuit, data: CircuitData) -> None:
    circuit_update(actor=workshop.technician, circuit_id=circuit.pk, data=data, now=workshop.later())


class TestBeltThatTurnsOutElectric:
    def test_raises_an_incident_for_what_is_on_it(self, workshop: Workshop, hoses: Piece) -> None:
        circuit = workshop.circuit(Drive.BELT, Lubricant.PAG)
        permitted = workshop.connect(circuit, hoses, job="J-2")
        assert permitted.connected

        _change(workshop, circuit, ELECTRIC)

        incident = Incident.objects.get()
        assert incident.kind == IncidentKind.LABEL_CHANGED
        assert incident.clearance == permitted.clearance
        assert "conductive_residue" in {reason["code"] for reason in incident.reasons}
        circuit.refresh_from_db()
        assert circuit.suspected_lubricants == [Lubricant.PAG]

    def test_is_told_once_however_often_the_label_is_edited(self, workshop: Workshop, hoses: Piece) -> None:
        circuit = workshop.circuit(Drive.BELT, Lubricant.PAG)
        workshop.connect(circuit, hoses, job="J-2")

        _change(workshop, circuit, ELECTRIC)
        _change(workshop, circuit, replace(ELECTRIC, lubricant_grade="POE 68"))

        assert Incident.objects.count() == 1


class TestOilThatTurnsOutConductive:
    def test_is_taken_along_by_every_piece_on_the_circuit(self, workshop: Workshop, hoses: Piece) -> None:
        clean = workshop.piece("H-2")
        workshop.purge(workshop.machine("M-2"), clean)
        circuit = workshop.circuit(Drive.BELT, Lubricant.POE)
        workshop.connect(circuit, clean, job="J-2")

        _change(workshop, circuit, BELT)
        workshop.disconnect("J-2")

        assert Lubricant.PAG in condition_as_of(clean.pk, workshop.now).residue.lubricants
        refused = workshop.connect(workshop.circuit(), clean, job="J-3")
        assert "conductive_residue" in refused.decision.codes

    def test_stays_with_a_piece_whose_own_declaration_of_it_is_withdrawn(self, workshop: Workshop) -> None:
        hoses = workshop.piece("H-2")
        workshop.purge(workshop.machine("M-2"), hoses)
        circuit = workshop.circuit(Drive.BELT, Lubricant.POE)
        workshop.connect(circuit, hoses, job="J-2")
        declared = contact_declare(
            actor=workshop.owner,
            piece_id=hoses.pk,
            residue=Residue(lubricants=frozenset({Lubricant.PAG})),
            occurred_at=workshop.later(),
            now=workshop.now,
            note="seen on its label",
        )

        _change(workshop, circuit, BELT)
        _change(workshop, circuit, replace(BELT, lubricant_grade="PAG 46"))
        exposure_withdraw(
            actor=workshop.owner, exposure=declared.exposure, reason="another hose", now=workshop.later()
        )

        assert Lubricant.PAG in condition_as_of(hoses.pk, workshop.now).residue.lubricants
        told = Exposure.objects.filter(piece=hoses, note__contains="changed the label data")
        assert [entry.note.split(" changed")[0] for entry in told] == [workshop.technician.name]


class TestChangeThatDecidesNothing:
    def test_leaves_the_log_alone(self, workshop: Workshop, hoses: Piece) -> None:
        circuit = workshop.circuit(Drive.BELT, Lubricant.PAG)
        workshop.connect(circuit, hoses, job="J-2")
        entries = Exposure.objects.count()

        _change(workshop, circuit, replace(BELT, label_source="label under the bonnet"))

        assert (Exposure.objects.count(), Incident.objects.count()) == (entries, 0)


class TestPage:
    def test_of_the_incident_says_that_the_label_changed(
        self, workshop_clock: Workshop, signed_in: SignedIn, owner: User
    ) -> None:
        workshop = workshop_clock
        hoses = workshop.piece("H-1")
        circuit = workshop.circuit(Drive.BELT, Lubricant.PAG)
        workshop.connect(circuit, hoses)

        _change(workshop, circuit, ELECTRIC)

        page = signed_in(owner).get(reverse("equipment:incident", args=[Incident.objects.get().pk]))
        assert "as its corrected label data show" in page.text
