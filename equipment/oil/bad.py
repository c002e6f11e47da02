"""A lot found bad: where its oil went is followed up, as if it had been known on the day of each filling."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from uuid import uuid4

from django.db import transaction
from django.db.models import Q
from django.utils.translation import gettext as _

from equipment.choices import ExposureKind, IncidentKind, Verdict
from equipment.errors import ReasonMissing
from equipment.exposure import Residue
from equipment.incidents import Incident
from equipment.models import Clearance, Connection, Exposure, PieceState
from equipment.oil.models import OilLot, OilMove, OilStore
from equipment.oil.selectors import Received, injectors_with, vehicles_with
from equipment.oil.stores import lock_stores, store_of_lot
from equipment.policies import may_handle_oil
from equipment.readiness import Severity
from equipment.selectors import condition_as_of
from equipment.services.exposures import entry_record
from equipment.services.incidents import circuit_suspect
from equipment.services.log import Entry
from shopcool.core.actors import Actor
from shopcool.core.errors import Conflict, require


@dataclass(frozen=True)
class FoundBad:
    """A lot that was found bad, and the incidents that this brought to light."""

    lot: OilLot
    incidents: tuple[Incident, ...]


@transaction.atomic
def oil_lot_found_bad(*, actor: Actor, lot: OilLot, reason: str, now: datetime) -> FoundBad:
    """Stop a lot for good, mark its injectors unknown since their filling, and raise incidents.

    Connections of an injector since then are judged again like after any late entry; every vehicle that
    received oil of the lot gets an incident of its own. Raises NotAllowed, ReasonMissing, Conflict when it
    was found bad before.
    """
    require(may_handle_oil(actor))
    if not reason.strip():
        raise ReasonMissing(_("Say what is wrong with the oil and how you know."), field="note")
    fills = injectors_with(lot)
    stores = [OilStore(pk=fill.target_id) for fill in fills]
    lock_stores(store_of_lot(lot), *stores)
    lot = OilLot.objects.select_for_update(of=("self",)).get(pk=lot.pk)
    if lot.bad_at is not None:
        raise Conflict(_("%(lot)s was found bad before.") % {"lot": lot.code})
    lot.bad_at, lot.bad_reason, lot.bad_by_name = now, reason.strip(), actor.name
    lot.save(update_fields=["bad_at", "bad_reason", "bad_by_name"])
    causes, incidents = _mark_injectors(injectors_with(lot), lot, actor, now)
    received = vehicles_with(lot)
    incidents += _raise_for_vehicles(received, causes, lot, now)
    incidents += _mark_what_was_on(received, lot, actor, now)
    return FoundBad(lot, tuple(incidents))


def _mark_injectors(
    fills: Iterable[OilMove], lot: OilLot, actor: Actor, now: datetime
) -> tuple[dict[int, Exposure], list[Incident]]:
    """Note in each injector's log, at the time of its first filling, that nobody knows what it held."""
    note = _("Oil of lot %(lot)s, found bad: %(why)s") % {"lot": lot.code, "why": lot.bad_reason}
    causes: dict[int, Exposure] = {}
    incidents: list[Incident] = []
    for fill in fills:
        piece = fill.target.piece
        if piece is None or piece.pk in causes or piece.retired_at is not None:
            continue
        entry = Entry(piece.pk, ExposureKind.RESIDUE_UNKNOWN, fill.occurred_at, note=note, action=uuid4())
        recorded = entry_record(entry, actor=actor, now=now)
        causes[piece.pk] = recorded.exposure
        incidents += recorded.incidents
        if not PieceState.objects.get(piece=piece).unknown:
            again = Entry(piece.pk, ExposureKind.RESIDUE_UNKNOWN, now, note=note, action=entry.action)
            entry_record(again, actor=actor, now=now)
    return causes, incidents


def _raise_for_vehicles(
    received: Iterable[Received], causes: dict[int, Exposure], lot: OilLot, now: datetime
) -> list[Incident]:
    raised = []
    for one in received:
        clearance, circuit = _clearance_of(one.move), one.move.target.circuit
        if clearance is None or circuit is None:
            continue
        cause = causes.get(one.through.pk) if one.through else None
        found = Incident.objects.filter(exposure=cause, clearance=clearance)
        incident = (found if cause else found.filter(kind=IncidentKind.BAD_OIL)).first()
        if incident is None:
            incident = Incident(
                exposure=cause, clearance=clearance, circuit=circuit, reasons=[], raised_at=now
            )
            incident.job_number = one.move.job_number
            raised.append(incident)
        incident.kind = IncidentKind.BAD_OIL
        incident.reasons = [_reason(lot, one), *incident.reasons]
        incident.save()
        if circuit.is_high_voltage:
            circuit_suspect(circuit, Residue(unknown=True))
    return raised


def _mark_what_was_on(
    received: Iterable[Received], lot: OilLot, actor: Actor, now: datetime
) -> list[Incident]:
    """Note the contact of every piece that was on a vehicle when the oil went in: it shared the circuit."""
    incidents: list[Incident] = []
    for one in received:
        moment, circuit = one.move.occurred_at, one.move.target.circuit
        rows = Connection.objects.filter(
            Q(disconnected_at__isnull=True) | Q(disconnected_at__gt=moment),
            circuit=circuit,
            connected_at__lte=moment,
            piece__retired_at__isnull=True,
        )
        for piece_id in rows.order_by("piece_id").values_list("piece_id", flat=True):
            if condition_as_of(piece_id, moment).residue.unknown:
                continue
            entry = Entry(
                piece_id,
                ExposureKind.CONTACT_DECLARED,
                moment,
                residue=Residue(unknown=True),
                circuit=circuit,
                job_number=one.move.job_number,
                note=_("Oil of lot %(lot)s, found bad, was in the circuit.") % {"lot": lot.code},
            )
            incidents += entry_record(entry, actor=actor, now=now).incidents
    return incidents


def _clearance_of(move: OilMove) -> Clearance | None:
    """Return the decision that let the injector, or else anything, onto the vehicle on that job."""
    given = Clearance.objects.filter(
        job_number=move.job_number, verdict__in=[Verdict.PERMITTED, Verdict.OVERRIDDEN]
    ).order_by("-sequence")
    with_injector = given.filter(piece_ids__contains=[move.source.piece_id]) if move.source.piece_id else None
    return (with_injector.first() if with_injector is not None else None) or given.first()


def _reason(lot: OilLot, received: Received) -> dict[str, object]:
    """Return the reason of an incident in the shape of those of a clearance."""
    sentence = _("Oil of lot %(lot)s went into this vehicle, and the lot was found bad: %(why)s")
    return {
        "code": "bad_oil",
        "severity": Severity.REFUSAL.value,
        "sentence": sentence % {"lot": lot.code, "why": lot.bad_reason},
        "fix": _("Call the vehicle back: test its insulation if it is electric, and renew its oil."),
        "source": "",
        "piece_id": received.through.pk if received.through else None,
        "piece_code": received.through.code if received.through else "",
    }
