"""What may have harmed a circuit, as stored. Followed up in equipment.services.incidents."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from equipment.choices import IncidentKind, IncidentStatus
from shopcool.vehicles.models import Circuit


class Incident(models.Model):
    """Something that may have harmed a circuit; the owner follows it up and says what was done.

    ``exposure`` is the entry that brought it to light; empty when an override was the cause.
    """

    kind = models.CharField(max_length=20, choices=IncidentKind.choices)
    status = models.CharField(max_length=10, choices=IncidentStatus.choices, default=IncidentStatus.OPEN)
    exposure = models.ForeignKey(
        "equipment.Exposure", null=True, blank=True, on_delete=models.PROTECT, related_name="incidents"
    )
    clearance = models.ForeignKey("equipment.Clearance", on_delete=models.PROTECT, related_name="incidents")
    circuit = models.ForeignKey(Circuit, on_delete=models.PROTECT, related_name="incidents")
    job_number = models.CharField(max_length=20)
    reasons = models.JSONField()
    raised_at = models.DateTimeField()
    closed_at = models.DateTimeField(null=True, blank=True)
    closed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    resolution = models.CharField(_("what was done"), max_length=500, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["exposure", "clearance"], name="equipment_incident_once"),
            models.CheckConstraint(
                name="equipment_incident_closed_with_reason",
                condition=Q(status=IncidentStatus.OPEN) | (~Q(resolution="") & Q(closed_at__isnull=False)),
            ),
        ]
        indexes = [models.Index(fields=["status", "raised_at"], name="equipment_incident_status")]

    def __str__(self) -> str:
        return f"incident {self.pk} on job {self.job_number}"
