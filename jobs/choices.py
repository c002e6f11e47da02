"""Kinds of service, of steps and of states, each with its words."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _


class ServiceKind(models.TextChoices):
    """What the vehicle comes for."""

    AC_SERVICE = "AC_SERVICE", _("Recover, evacuate and charge")
    REPAIR = "REPAIR", _("Repair with parts replaced")
    INSPECTION = "INSPECTION", _("Inspection with readings")
    INSULATION = "INSULATION", _("Insulation check")


class JobStatus(models.TextChoices):
    """Where a job stands; what is done in between is told by its step records."""

    BOOKED = "BOOKED", _("Booked")
    CHECKED_IN = "CHECKED_IN", _("In the workshop")
    CLOSED = "CLOSED", _("Closed")
    CANCELLED = "CANCELLED", _("Cancelled")


class StepKind(models.TextChoices):
    """The steps a job may need, in the order of the work."""

    LABEL = "LABEL", _("Label and complaint")
    HIGH_VOLTAGE = "HIGH_VOLTAGE", _("High-voltage precautions")
    IDENTIFICATION = "IDENTIFICATION", _("Refrigerant identification")
    OIL_BOTTLE = "OIL_BOTTLE", _("Recovered-oil bottle at the start")
    CONNECTION = "CONNECTION", _("Clearance and connection")
    READINGS_BEFORE = "READINGS_BEFORE", _("Readings before")
    INSULATION = "INSULATION", _("Insulation test")
    RECOVERY = "RECOVERY", _("Recovery")
    PARTS = "PARTS", _("Parts replaced")
    EVACUATION = "EVACUATION", _("Evacuation and vacuum hold")
    OIL = "OIL", _("Oil added")
    CHARGE = "CHARGE", _("Charge")
    READINGS_AFTER = "READINGS_AFTER", _("Readings after")
    LEAK_CHECK = "LEAK_CHECK", _("Leak check")
    DISCONNECTION = "DISCONNECTION", _("Disconnection")
    CLOSING_PURGE = "CLOSING_PURGE", _("Closing purge")
    CLOSE_OUT = "CLOSE_OUT", _("Close-out")


class ReportStatus(models.TextChoices):
    """Where the making of a document stands."""

    QUEUED = "QUEUED", _("Waiting")
    RUNNING = "RUNNING", _("Being made")
    READY = "READY", _("Ready")
    FAILED = "FAILED", _("Failed")
