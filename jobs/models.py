"""Jobs, step records and reports."""

from __future__ import annotations

from typing import ClassVar
from uuid import uuid4

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from jobs.choices import JobStatus, ReportStatus, ServiceKind, StepKind
from shopcool.core.records import ChainedRecord
from shopcool.vehicles.models import Circuit


class Job(models.Model):
    """One visit of one vehicle for one circuit. ``number`` is public and never changes."""

    number = models.CharField(_("number"), max_length=20, unique=True)
    circuit = models.ForeignKey(Circuit, on_delete=models.PROTECT, related_name="jobs")
    service = models.CharField(_("service"), max_length=20, choices=ServiceKind.choices)
    status = models.CharField(max_length=12, choices=JobStatus.choices, default=JobStatus.BOOKED)
    complaint = models.TextField(_("complaint"), blank=True, max_length=1000)
    #: Lost drive as well: where the A/C also cools the battery, that is no matter of comfort.
    affects_driving = models.BooleanField(_("driving affected too"), default=False)
    bay = models.CharField(_("bay"), max_length=30, blank=True)
    technician = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="jobs"
    )
    booked_for = models.DateTimeField(_("booked for"))
    booked_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    checked_in_at = models.DateTimeField(null=True, blank=True)
    closed_at = models.DateTimeField(null=True, blank=True)
    next_service_on = models.DateField(_("next service"), null=True, blank=True)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="jobs_job_closed_has_time",
                condition=~Q(status=JobStatus.CLOSED) | Q(closed_at__isnull=False),
            ),
            models.CheckConstraint(
                name="jobs_job_times",
                condition=Q(closed_at__isnull=True)
                | Q(checked_in_at__isnull=True)
                | Q(closed_at__gte=F("checked_in_at")),
            ),
        ]
        indexes = [models.Index(fields=["status", "booked_for"], name="jobs_job_board")]

    @property
    def place(self) -> str:
        """Where the vehicle stands, in words: a bare number says that it is a bay."""
        return gettext("bay %(number)s") % {"number": self.bay} if self.bay.isdigit() else self.bay

    def __str__(self) -> str:
        return self.number

    @property
    def is_open(self) -> bool:
        """Whether work on the job may still be recorded."""
        return self.status == JobStatus.CHECKED_IN


class StepRecord(ChainedRecord):
    """What was measured or done in one step; immutable once confirmed, corrected by a new record.

    ``values`` maps field names to what was typed and what it means in SI; ``answer`` is what the step's
    rules said about them, with their ``rules_version``.
    """

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="records")
    kind = models.CharField(max_length=20, choices=StepKind.choices)
    values = models.JSONField(default=dict)
    answer = models.JSONField(default=dict)
    note = models.CharField(max_length=1000, blank=True)
    occurred_at = models.DateTimeField()
    corrects = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="corrected_by"
    )
    correction_reason = models.CharField(max_length=300, blank=True)
    idempotency_key = models.UUIDField(null=True, unique=True)
    #: SHA-256 of what was typed, so that a key is never answered for other input.
    input_digest = models.CharField(max_length=64, blank=True)
    rules_version = models.CharField(max_length=20)

    class Meta(ChainedRecord.Meta):
        constraints: ClassVar[list[models.BaseConstraint]] = [
            *ChainedRecord.Meta.constraints,
            models.CheckConstraint(
                name="jobs_step_correction_has_reason",
                condition=Q(corrects__isnull=True) | ~Q(correction_reason=""),
            ),
            models.CheckConstraint(
                name="jobs_step_not_in_the_future", condition=Q(occurred_at__lte=F("recorded_at"))
            ),
        ]
        indexes = [models.Index(fields=["job", "kind", "sequence"], name="jobs_step_of_job")]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} of {self.job_id}"


class Report(models.Model):
    """The PDF record of a job, made by a task."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="reports")
    status = models.CharField(max_length=10, choices=ReportStatus.choices, default=ReportStatus.QUEUED)
    progress = models.PositiveSmallIntegerField(default=0)
    message = models.CharField(max_length=300, blank=True)
    file = models.FileField(upload_to="reports/%Y/%m/", blank=True)
    requested_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    requested_at = models.DateTimeField()
    #: When the queue or a worker last took it up; one that was not touched for long has lost its worker.
    touched_at = models.DateTimeField(null=True, blank=True)
    #: How often a worker began; whoever began last may write, an earlier one that comes back may not.
    attempts = models.PositiveSmallIntegerField(default=0)
    finished_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(name="jobs_report_progress", condition=Q(progress__lte=100)),
            models.CheckConstraint(
                name="jobs_report_ready_has_file", condition=~Q(status=ReportStatus.READY) | ~Q(file="")
            ),
        ]

    def __str__(self) -> str:
        return f"report {self.pk} of {self.job_id}"


class CalendarEntry(models.Model):
    """What the calendar feeds last said about one event, so that programs notice a change and only a change.

    ``key`` is our own name of the event. ``sequence`` counts its changes, as RFC 5545 asks for.
    """

    key = models.CharField(max_length=120, unique=True)
    uid = models.UUIDField(unique=True, default=uuid4)
    digest = models.CharField(max_length=64)
    sequence = models.PositiveIntegerField(default=0)
    modified_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.key} #{self.sequence}"
