"""Oil from the shelf into the car: booked with the step, corrected by a difference, found when bad."""

from __future__ import annotations

from uuid import uuid4

import pytest

from equipment.choices import IncidentKind
from equipment.exposure import Residue
from equipment.incidents import Incident
from equipment.models import Exposure, PieceState
from equipment.oil.bad import oil_lot_found_bad
from equipment.oil.errors import LotUnfit
from equipment.oil.models import MoveKind, OilMove
from equipment.oil.selectors import vehicles_with
from equipment.oil.stores import store_of_circuit, store_of_injector, store_of_lot
from equipment.services.exposures import piece_inspect
from jobs.choices import StepKind
from jobs.errors import ValuesInvalid
from jobs.services.steps import step_correct
from shopcool.core.errors import Conflict
from shopcool.core.records import chain_breaks
from shopcool.vehicles.choices import Drive, Lubricant
from tests.equipment.workshop import Workshop
from tests.jobs.bay import Bay

pytestmark = pytest.mark.django_db


@pytest.fixture
def bay(db):
    """An electric car evacuated, with a filled injector on it."""
    bay = Bay(Workshop())
    bay.injector, bay.lot = bay.workshop.injector(), bay.workshop.lot()
    bay.workshop.fill(bay.injector, bay.lot, "60")
    bay.up_to(StepKind.EVACUATION)
    assert bay.connect(bay.injector).connected
    return bay


def inject(bay, amount="15 ml"):
    return bay.record(StepKind.OIL, added="yes", way="INJECTOR", injector=str(bay.injector.pk), amount=amount)


def millilitres(store) -> float:
    store.refresh_from_db()
    return float(store.volume_m3) * 1e6


class TestStep:
    def test_books_the_injector_into_the_vehicle(self, bay):
        inject(bay)

        move = OilMove.objects.get(kind=MoveKind.ADDED)
        assert (move.job_number, move.typed) == (bay.job.number, "15 ml")
        assert float(move.mass_kg) == pytest.approx(14.4e-3)
        assert millilitres(store_of_injector(bay.injector)) == pytest.approx(45)
        assert millilitres(store_of_circuit(bay.job.circuit)) == pytest.approx(15)

    def test_that_asks_for_more_books_nothing(self, bay):
        with pytest.raises(ValuesInvalid, match="I-1 holds 60 ml by the books"):
            inject(bay, "61 ml")

        assert not OilMove.objects.filter(kind=MoveKind.ADDED).exists()
        assert not bay.situation.case.has(StepKind.OIL)

    def test_that_is_corrected_books_the_difference(self, bay):
        record = inject(bay)
        raw = bay.raw(
            StepKind.OIL, added="yes", way="INJECTOR", injector=str(bay.injector.pk), amount="2 US fl oz"
        )

        correction = _correct(bay, record, raw)
        assert millilitres(store_of_injector(bay.injector)) == pytest.approx(60 - 59.147, abs=1e-3)
        _correct(bay, correction, {"added": "no", "why_none": "was another car"})

        assert millilitres(store_of_injector(bay.injector)) == pytest.approx(60)
        assert millilitres(store_of_circuit(bay.job.circuit)) == pytest.approx(0)
        assert list(chain_breaks(OilMove)) == []

    def test_takes_oil_for_a_part_from_its_lot(self, bay):
        bay.record(
            StepKind.OIL,
            added="yes",
            way="WITH_PART",
            oil="POE",
            grade="poe 68",
            lot=str(bay.lot.pk),
            amount="30",
        )

        assert millilitres(store_of_lot(bay.lot)) == pytest.approx(250 - 60 - 30)


class TestLotFoundBad:
    def test_finds_vehicles_and_injectors_and_raises_incidents(self, bay):
        inject(bay)

        found = oil_lot_found_bad(actor=bay.technician, lot=bay.lot, reason="milky", now=bay.workshop.later())

        incident = Incident.objects.get(job_number=bay.job.number)
        assert incident in found.incidents
        assert incident.kind == IncidentKind.BAD_OIL
        assert "Oil of lot L-1 went into this vehicle" in incident.reasons[0]["sentence"]
        assert PieceState.objects.get(piece=bay.injector).unknown
        (received,) = vehicles_with(bay.lot)
        assert received.move.target.circuit == bay.job.circuit
        assert (received.through, received.traces_only) == (bay.injector, False)
        bay.job.circuit.refresh_from_db()
        assert bay.job.circuit.suspected_lubricants == [Lubricant.UNKNOWN]

    def test_carries_to_what_was_on_the_vehicle_with_the_injector(self, bay):
        inject(bay)

        oil_lot_found_bad(actor=bay.technician, lot=bay.lot, reason="milky", now=bay.workshop.later())

        assert PieceState.objects.get(piece=bay.hoses).unknown
        note = Exposure.objects.filter(piece=bay.hoses).order_by("-sequence").first().note
        assert note == "Shared the circuit with I-1, as a later entry showed."

    def test_also_finds_a_belt_car_that_only_got_traces(self, db):
        workshop = Workshop()
        bay = Bay(workshop, drive=Drive.BELT, lubricant=Lubricant.POE)
        bay.injector, bad, good = workshop.injector(), workshop.lot("L-1"), workshop.lot("L-2")
        workshop.fill(bay.injector, bad, "10")
        bay.up_to(StepKind.EVACUATION)
        assert bay.connect(bay.injector).connected
        inject(bay, "10 ml")
        bay.disconnect()
        workshop.fill(bay.injector, good, "20")
        assert bay.connect().connected
        bay.record(StepKind.OIL, added="yes", way="INJECTOR", injector=str(bay.injector.pk), amount="5 ml")

        oil_lot_found_bad(actor=bay.technician, lot=bad, reason="wet", now=workshop.later())

        assert [one.traces_only for one in vehicles_with(bad)] == [False, True]
        assert Incident.objects.get().kind == IncidentKind.BAD_OIL

    def test_stops_lot_and_injector_until_an_inspection(self, bay):
        oil_lot_found_bad(actor=bay.technician, lot=bay.lot, reason="milky", now=bay.workshop.later())

        with pytest.raises(ValuesInvalid, match="has held oil of lot L-1, which was found bad"):
            inject(bay)
        with pytest.raises(LotUnfit, match="L-1 was found bad: milky"):
            bay.workshop.fill(bay.workshop.injector("I-2"), bay.lot)
        with pytest.raises(Conflict, match="found bad before"):
            oil_lot_found_bad(actor=bay.technician, lot=bay.lot, reason="again", now=bay.workshop.later())
        now = bay.workshop.later()
        piece_inspect(
            actor=bay.workshop.owner,
            piece_id=bay.injector.pk,
            residue=Residue(),
            occurred_at=now,
            now=now,
            note="washed out and dried",
        )
        inject(bay)


def _correct(bay, record, raw):
    return step_correct(
        actor=bay.workshop.owner,
        record=record,
        raw=raw,
        reason="misread",
        idempotency_key=uuid4(),
        now=bay.workshop.later(),
    )
