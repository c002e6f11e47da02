"""A visit with everything that a record has to tell, and its record."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any
from uuid import uuid4

from equipment.models import Piece
from equipment.purging import PurgeReadings
from equipment.services.purges import purge_record
from jobs.choices import StepKind
from jobs.reports import gather, job_document
from jobs.services.steps import step_correct
from shopcool.core.documents import Document, Section
from shopcool.shop.selectors import shop_get
from shopcool.vehicles.models import Customer
from tests.equipment.workshop import GOOD_PURGE
from tests.jobs.bay import BEFORE_CONNECTION, WHILE_CONNECTED, Bay

REASON = "The glass was seen unpacked; I answer for it."
#: Half a pascal each second: air comes in.
LEAKING = "\n".join(("min Pa", *(f"{minute} {90 + 30 * minute}" for minute in range(60))))
LINES = {"suction": "12 °C", "liquid": "42 °C"}
WEAK_PURGE = PurgeReadings(circulated_kg=0.1, duration_s=None, final_vacuum_pa=20_000.0, completed=True)


def tell_closed_visit(bay: Bay) -> Bay:
    """Take a job from check-in to close-out, with everything that may go otherwise."""
    _describe(bay)
    glass = bay.sight_glass()
    bay.checked_in()
    for kind in (*BEFORE_CONNECTION, StepKind.HIGH_VOLTAGE):
        bay.record(kind)
    correct_complaint(bay, "squeaks in summer", "misheard the customer")
    assert not bay.connect(bay.machine, bay.hoses, glass).connected
    purge(bay, glass, readings=WEAK_PURGE)
    assert bay.connect(bay.machine, bay.hoses, glass, actor=bay.workshop.owner, reason=REASON).connected
    for kind in (*WHILE_CONNECTED, StepKind.HIGH_VOLTAGE, StepKind.INSULATION):
        if kind is StepKind.EVACUATION:
            bay.record(kind, gauge="FOLLOWED", curve=LEAKING, gauge_step="1 Pa")
        bay.record(kind, **LINES if kind is StepKind.READINGS_AFTER else {})
    bay.disconnect()
    purge(bay, bay.hoses, glass)
    bay.close()
    return bay


def correct_complaint(bay: Bay, complaint: str, reason: str) -> None:
    """Correct what the customer said."""
    step_correct(
        actor=bay.technician,
        record=bay.situation.records[0],
        raw=bay.raw(StepKind.LABEL, complaint=complaint),
        reason=reason,
        idempotency_key=uuid4(),
        now=bay.workshop.later(),
    )


def purge(
    bay: Bay, *pieces: Piece, readings: PurgeReadings = GOOD_PURGE, machine: Piece | None = None
) -> None:
    """Purge pieces for this job, through its machine unless another is named."""
    now = bay.workshop.later()
    purge_record(
        actor=bay.technician,
        machine_id=(machine or bay.machine).pk,
        piece_ids=[piece.pk for piece in pieces],
        readings=readings,
        occurred_at=now,
        now=now,
        job_number=bay.job.number,
        typed={"circulated": {"typed": "17.6 oz"}},
    )


def document_of(bay: Bay) -> Document:
    """Return the record of the job as it stands now."""
    gathered = gather(job_id=bay.job.pk, now=bay.workshop.later())
    return job_document(gathered, requested_by="Tilda")


def section(document: Document, title: str) -> Section:
    """Return one section of a record."""
    return next(part for part in document.sections if part.title == title)


def told(part: Any) -> str:
    """Return every text of a document or of a part of it."""
    return "\n".join(_texts(asdict(part)))


def _texts(value: Any) -> list[str]:
    if isinstance(value, str):
        return [value]
    if isinstance(value, dict):
        value = value.values()
    return [text for item in value for text in _texts(item)] if not isinstance(value, int | float) else []


def _describe(bay: Bay) -> None:
    shop = shop_get()
    shop.name, shop.address, shop.time_zone = "Harbour Street Workshop", "Harbour Street 12", "Europe/Berlin"
    shop.save()
    circuit = bay.job.circuit
    circuit.charge_typed = "0,55 kg ± 20 g"
    circuit.save()
    vehicle = circuit.vehicle
    vehicle.customer = Customer.objects.create(name="Γεώργιος Żółć")
    vehicle.save()
