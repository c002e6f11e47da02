"""Incidents: raised when harm may have reached a circuit, closed by an owner who says what was done."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _

from equipment.choices import IncidentKind, IncidentStatus
from equipment.errors import ReasonMissing
from equipment.exposure import Residue
from equipment.incidents import Incident
from equipment.models import Clearance, Exposure
from equipment.policies import may_close_incident
from equipment.readiness import Reason
from shopcool.core.actors import Actor
from shopcool.core.errors import Conflict, require
from shopcool.vehicles.choices import Lubricant
from shopcool.vehicles.models import Circuit


def override_follow_up(circuit: Circuit, clearance: Clearance, brought: Residue) -> Incident:
    """Raise an incident for harmful residue that was connected on the owner's responsibility."""
    circuit_suspect(circuit, brought)
    return Incident.objects.create(
        kind=IncidentKind.OVERRIDE,
        clearance=clearance,
        circuit=circuit,
        job_number=clearance.job_number,
        reasons=clearance.reasons,
        raised_at=clearance.occurred_at,
    )


def late_entry_incident(
    *, cause: Exposure, clearance: Clearance, reasons: Sequence[Reason], residue: Residue, now: datetime
) -> tuple[Incident, bool]:
    """Raise an incident, once, for a connection that a late entry shows should have been refused."""
    if clearance.circuit.is_high_voltage:
        circuit_suspect(clearance.circuit, residue)
    return Incident.objects.get_or_create(
        exposure=cause,
        clearance=clearance,
        defaults={
            "kind": IncidentKind.LATE_ENTRY,
            "circuit": clearance.circuit,
            "job_number": clearance.job_number,
            "reasons": [reason.as_record() for reason in reasons],
            "raised_at": now,
        },
    )


def label_incident(
    *,
    cause: Exposure | None,
    clearance: Clearance,
    reasons: Sequence[Reason],
    brought: Residue,
    now: datetime,
) -> Incident:
    """Raise an incident for a connection that the present label data would have refused."""
    if clearance.circuit.is_high_voltage and brought.blocks_high_voltage:
        circuit_suspect(clearance.circuit, brought)
    return Incident.objects.create(
        kind=IncidentKind.LABEL_CHANGED,
        exposure=cause,
        clearance=clearance,
        circuit=clearance.circuit,
        job_number=clearance.job_number,
        reasons=[reason.as_record() for reason in reasons],
        raised_at=now,
    )


def circuit_suspect(circuit: Circuit, residue: Residue) -> None:
    """Note which oil classes may now be in a circuit besides its own."""
    foreign = set(residue.lubricants) | ({Lubricant.UNKNOWN.value} if residue.unknown else set())
    # As the database has it now: the caller's copy may be older than what another incident added.
    locked = Circuit.objects.select_for_update(no_key=True).only("suspected_lubricants").get(pk=circuit.pk)
    suspected = sorted((foreign - {circuit.lubricant}) | set(locked.suspected_lubricants))
    circuit.suspected_lubricants = suspected
    if suspected != locked.suspected_lubricants:
        circuit.save(update_fields=["suspected_lubricants"])


@transaction.atomic
def incident_close(
    *, actor: Actor, incident: Incident, resolution: str, circuit_is_clean: bool, now: datetime
) -> Incident:
    """Close an incident, saying what was done.

    ``circuit_is_clean`` states that nothing foreign is in the circuit any more (for example after its parts
    were replaced or its oil was tested); the suspicion is lifted when no other incident is open.
    Raises NotAllowed, ReasonMissing, Conflict when it is closed already.
    """
    require(may_close_incident(actor))
    if not resolution.strip():
        raise ReasonMissing(_("Say what was done about it."), field="resolution")
    incident = Incident.objects.select_for_update(of=("self",)).select_related("circuit").get(pk=incident.pk)
    if incident.status == IncidentStatus.CLOSED:
        raise Conflict(_("This incident has been closed already."))
    incident.status = IncidentStatus.CLOSED
    incident.closed_at = now
    incident.closed_by_id = actor.user_id
    incident.resolution = resolution.strip()
    incident.save()
    others = Incident.objects.filter(circuit_id=incident.circuit_id, status=IncidentStatus.OPEN)
    if circuit_is_clean and not others.exists():
        incident.circuit.suspected_lubricants = []
        incident.circuit.save(update_fields=["suspected_lubricants"])
    return incident
