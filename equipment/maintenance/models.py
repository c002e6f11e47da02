"""Tables of maintenance: plans, the work that was done, and how much a piece has been used."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Case, F, Q, Value, When
from django.utils.translation import gettext_lazy as _

from equipment.maintenance.choices import IntervalSource, WhenOverdue, Work, WorkOutcome
from shopcool.core.records import ChainedRecord

#: Any limit by use that has been reached; a limit that is not set is never reached.
REACHED = (
    Q(used_hours__gte=F("every_hours")) | Q(used_kg__gte=F("every_kg")) | Q(used_jobs__gte=F("every_jobs"))
)
LIMITS = ("every_months", "every_days", "every_hours", "every_kg", "every_jobs")


def _some_limit() -> Q:
    found = Q()
    for name in LIMITS:
        found |= Q(**{f"{name}__isnull": False})
    return found


def _positive() -> Q:
    found = Q(tolerance_kg__isnull=True) | Q(tolerance_kg__gt=0)
    for name in LIMITS:
        found &= Q(**{f"{name}__isnull": True}) | Q(**{f"{name}__gt": 0})
    return found


class MaintenancePlan(models.Model):
    """Work that a piece needs at intervals: by months, days, hours run, mass recovered or jobs.

    Whichever limit comes first counts. ``starts_on`` is the day from which the first interval runs.
    ``tolerance_kg`` is how far a scale may be off [kg]. The columns from ``last_done_on`` on are derived
    from records, uses and connections, and can be rebuilt at any time.
    """

    piece = models.ForeignKey("equipment.Piece", on_delete=models.PROTECT, related_name="plans")
    work = models.CharField(_("work"), max_length=20, choices=Work.choices)
    title = models.CharField(_("what exactly"), max_length=120, blank=True)
    every_months = models.PositiveSmallIntegerField(_("months"), null=True, blank=True)
    every_days = models.PositiveSmallIntegerField(_("days"), null=True, blank=True)
    every_hours = models.FloatField(_("hours run"), null=True, blank=True)
    every_kg = models.FloatField(_("refrigerant recovered"), null=True, blank=True)
    every_jobs = models.PositiveIntegerField(_("jobs"), null=True, blank=True)
    tolerance_kg = models.FloatField(null=True, blank=True)
    source = models.CharField(_("source"), max_length=20, choices=IntervalSource.choices)
    source_note = models.CharField(_("where it stands"), max_length=200, blank=True)
    when_overdue = models.CharField(_("when overdue"), max_length=10, choices=WhenOverdue.choices)
    starts_on = models.DateField(_("counted from"))
    revision = models.PositiveIntegerField(default=1)
    created_at = models.DateTimeField()
    created_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    ended_reason = models.CharField(_("why it ended"), max_length=300, blank=True)
    last_done_on = models.DateField(null=True)
    failed_on = models.DateField(null=True)
    counts_from = models.DateTimeField()
    used_hours = models.FloatField(default=0.0)
    used_kg = models.FloatField(default=0.0)
    used_jobs = models.PositiveIntegerField(default=0)
    due_on = models.DateField(null=True)
    is_reached = models.GeneratedField(
        expression=Case(When(REACHED, then=Value(True)), default=Value(False)),
        output_field=models.BooleanField(),
        db_persist=True,
    )

    class Meta:
        constraints = [
            models.CheckConstraint(name="equipment_plan_has_limit", condition=_some_limit()),
            models.CheckConstraint(name="equipment_plan_positive", condition=_positive()),
            models.CheckConstraint(
                name="equipment_plan_other_is_named", condition=~Q(work=Work.OTHER) | ~Q(title="")
            ),
            models.CheckConstraint(
                name="equipment_plan_ended_with_reason",
                condition=Q(ended_at__isnull=True) | ~Q(ended_reason=""),
            ),
            models.UniqueConstraint(
                fields=["piece", "work", "title"],
                name="equipment_plan_once",
                condition=Q(ended_at__isnull=True),
            ),
        ]
        indexes = [
            # What is due until a day; what is due at once whatever the day.
            models.Index(fields=["due_on"], name="equipment_plan_due", condition=Q(ended_at__isnull=True)),
            models.Index(
                fields=["piece"],
                name="equipment_plan_at_once",
                condition=Q(ended_at__isnull=True) & (Q(is_reached=True) | Q(failed_on__isnull=False)),
            ),
        ]

    def __str__(self) -> str:
        return self.title or str(Work(self.work).label)


class MaintenanceRecord(ChainedRecord):
    """Work that was done on a piece. Append-only; corrected by a new row that points at the old one.

    ``readings`` are quantities as typed and in SI, ``findings`` sentences about them with their figures,
    ``used`` what the piece had been used since the work before. ``counts_from`` is the moment from which use
    counts again.
    """

    piece = models.ForeignKey("equipment.Piece", on_delete=models.PROTECT, related_name="maintenance")
    plan = models.ForeignKey(MaintenancePlan, null=True, on_delete=models.PROTECT, related_name="records")
    work = models.CharField(max_length=20, choices=Work.choices)
    title = models.CharField(max_length=120, blank=True)
    done_on = models.DateField()
    counts_from = models.DateTimeField()
    done_by = models.CharField(max_length=150)
    outcome = models.CharField(max_length=12, choices=WorkOutcome.choices)
    readings = models.JSONField(default=dict)
    findings = models.JSONField(default=list)
    used = models.JSONField(default=dict)
    reference = models.ForeignKey(
        "equipment.Piece", null=True, on_delete=models.PROTECT, related_name="reference_for"
    )
    parts = models.CharField(max_length=300, blank=True)
    note = models.CharField(max_length=500, blank=True)
    submission_key = models.UUIDField(unique=True)
    corrects = models.OneToOneField("self", null=True, on_delete=models.PROTECT, related_name="corrected_by")
    correction_reason = models.CharField(max_length=300, blank=True)

    class Meta(ChainedRecord.Meta):
        constraints: ClassVar[list[models.BaseConstraint]] = [
            *ChainedRecord.Meta.constraints,
            models.CheckConstraint(
                name="equipment_maintenance_known_outcome", condition=Q(outcome__in=WorkOutcome.values)
            ),
            models.CheckConstraint(
                name="equipment_maintenance_correction_has_reason",
                condition=Q(corrects__isnull=True) | ~Q(correction_reason=""),
            ),
        ]
        indexes = [
            models.Index(fields=["plan", "done_on", "sequence"], name="equipment_maintenance_plan"),
            models.Index(fields=["piece", "done_on", "sequence"], name="equipment_maintenance_piece"),
        ]

    def __str__(self) -> str:
        return f"{self.title or Work(self.work).label} {self.done_on}"


class PieceUse(ChainedRecord):
    """How much a piece was used once: mass recovered [kg], or hours by its meter [h]. Append-only.

    A row that corrects an earlier one carries the difference, which may be negative. ``meter_hours`` is
    the reading of the hour meter that gave the hours.
    """

    piece = models.ForeignKey("equipment.Piece", on_delete=models.PROTECT, related_name="uses")
    mass_kg = models.FloatField(default=0.0)
    hours = models.FloatField(default=0.0)
    meter_hours = models.FloatField(null=True)
    job_number = models.CharField(max_length=20, blank=True)
    occurred_at = models.DateTimeField()
    note = models.CharField(max_length=300, blank=True)

    class Meta(ChainedRecord.Meta):
        constraints: ClassVar[list[models.BaseConstraint]] = [
            *ChainedRecord.Meta.constraints,
            models.CheckConstraint(
                name="equipment_use_meter",
                condition=Q(meter_hours__isnull=True) | Q(meter_hours__gte=0, meter_hours__lte=1_000_000),
            ),
        ]
        indexes = [models.Index(fields=["piece", "occurred_at"], name="equipment_use_piece")]

    def __str__(self) -> str:
        return f"use {self.sequence} of piece {self.piece_id}"
