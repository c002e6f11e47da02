"""What an entry of the history says, and which part of the history is wanted."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from django.db import models
from django.utils.translation import gettext_lazy as _


class Topic(models.TextChoices):
    """What an entry is about."""

    CONTACT = "CONTACT", _("Contacts and condition")
    PURGE = "PURGE", _("Line purges")
    CLEARANCE = "CLEARANCE", _("Clearances")
    REFRIGERANT = "REFRIGERANT", _("Refrigerant moved")
    MAINTENANCE = "MAINTENANCE", _("Maintenance")
    DOCUMENT = "DOCUMENT", _("Certificates and calibrations")
    INCIDENT = "INCIDENT", _("Incidents")
    ATTACHMENT = "ATTACHMENT", _("Photos and PDFs attached")


class Measure(models.TextChoices):
    """A number that an entry may carry, in SI, its unit in the name."""

    MASS = "MASS", _("Mass moved [kg]")
    CIRCULATED = "CIRCULATED", _("Mass circulated [kg]")
    DURATION = "DURATION", _("Duration [s]")
    VACUUM = "VACUUM", _("Final vacuum [Pa absolute]")


@dataclass(frozen=True)
class Scope:
    """Which part of the history is wanted, from ``since`` until before ``until``; what is empty is all."""

    since: datetime | None = None
    until: datetime | None = None
    piece_id: int | None = None
    topics: frozenset[Topic] = frozenset()
    person_id: int | None = None
    job_number: str = ""
    verdict: str = ""


@dataclass(frozen=True)
class HistoryEntry:
    """One thing that happened, as a person reads it. ``kind`` is its shape in a timeline."""

    topic: Topic
    at: datetime
    title: str
    text: str = ""
    who: str = ""
    kind: str = "plain"
    url: str = ""
    pieces: tuple[str, ...] = ()
    vehicle: str = ""
    job_number: str = ""
    verdict: str = ""
    oils: str = ""
    refrigerants: str = ""
    measures: Mapping[Measure, float] = field(default_factory=dict)
    note: str = ""
    recorded_at: datetime | None = None
    stream: str = ""
    sequence: int | None = None
    hash: str = ""
