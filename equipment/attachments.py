"""The things of the equipment that files are attached to, and who may do so."""

from __future__ import annotations

from django.urls import reverse

from equipment.incidents import Incident
from equipment.maintenance.models import MaintenanceRecord
from equipment.maintenance.policies import may_record_maintenance
from equipment.models import Piece, PieceDocument
from equipment.oil.models import OilLot
from equipment.policies import (
    may_handle_oil,
    may_manage_equipment,
    may_photograph,
    may_see_equipment,
    may_see_incidents,
)
from shopcool.attachments.parents import Parent, ParentKind, row_number
from shopcool.core.actors import Actor

PIECE, WORK, DOCUMENT, INCIDENT, LOT = "piece", "work", "document", "incident", "oil-lot"


def piece_parent(piece: Piece) -> Parent:
    """Return a piece, retired or not."""
    return Parent(PIECE, piece.public_id, str(piece), _piece_url(piece))


def work_parent(record: MaintenanceRecord) -> Parent:
    """Return a record of work, loaded with its piece."""
    name = f"{record.piece.code}: {record}"
    return Parent(WORK, str(record.pk), name, f"{_piece_url(record.piece)}#work-{record.sequence}")


def document_parent(document: PieceDocument) -> Parent:
    """Return a certificate or calibration, loaded with its piece."""
    name = f"{document.piece.code}: {document}"
    return Parent(DOCUMENT, str(document.pk), name, f"{_piece_url(document.piece)}#documents")


def incident_parent(incident: Incident) -> Parent:
    """Return an incident."""
    url = reverse("equipment:incident", args=[incident.pk])
    return Parent(INCIDENT, str(incident.pk), str(incident).capitalize(), url)


def lot_parent(lot: OilLot) -> Parent:
    """Return a lot of oil."""
    return Parent(LOT, lot.code, str(lot), reverse("equipment:oil_lot", args=[lot.code]))


def _piece_url(piece: Piece) -> str:
    return reverse("equipment:piece", args=[piece.code])


def _piece(actor: Actor, key: str) -> Parent | None:
    found = Piece.objects.filter(public_id=key).first() if may_see_equipment(actor) else None
    return piece_parent(found) if found else None


def _work(actor: Actor, key: str) -> Parent | None:
    rows = MaintenanceRecord.objects.select_related("piece").filter(pk=row_number(key))
    found = rows.first() if may_see_equipment(actor) else None
    return work_parent(found) if found else None


def _document(actor: Actor, key: str) -> Parent | None:
    rows = PieceDocument.objects.select_related("piece").filter(pk=row_number(key))
    found = rows.first() if may_see_equipment(actor) else None
    return document_parent(found) if found else None


def _incident(actor: Actor, key: str) -> Parent | None:
    found = Incident.objects.filter(pk=row_number(key)).first() if may_see_incidents(actor) else None
    return incident_parent(found) if found else None


def _lot(actor: Actor, key: str) -> Parent | None:
    found = OilLot.objects.filter(code=key).first() if may_see_equipment(actor) else None
    return lot_parent(found) if found else None


KINDS = (
    ParentKind(PIECE, find=_piece, may_add=may_photograph),
    ParentKind(WORK, find=_work, may_add=may_record_maintenance),
    ParentKind(DOCUMENT, find=_document, may_add=may_manage_equipment),
    ParentKind(INCIDENT, find=_incident, may_add=may_see_incidents),
    ParentKind(LOT, find=_lot, may_add=may_handle_oil),
)
