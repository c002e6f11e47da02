"""Pieces, their documents and state, the exposure log, purges, clearances, connections, incidents."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.contrib.postgres.constraints import ExclusionConstraint
from django.contrib.postgres.fields import ArrayField, DateTimeRangeField, RangeOperators
from django.contrib.postgres.indexes import GinIndex
from django.db import models
from django.db.models import F, Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from equipment.choices import (
    DocumentKind,
    ExposureKind,
    GloveClass,
    HoseAllowance,
    PieceKind,
    Verdict,
)
from equipment.exposure import Condition, Residue
from equipment.incidents import Incident
from equipment.ledger import Account, LedgerEntry
from equipment.maintenance.models import MaintenancePlan, MaintenanceRecord, PieceUse
from equipment.oil.models import OilLot, OilMove, OilStore, OilTest
from equipment.public_ids import new_public_id
from equipment.reminders.models import Digest, Reminder, ReminderRun, Snooze
from equipment.walls import WallDisplay
from shopcool.core.records import ChainedRecord
from shopcool.vehicles.choices import Additive, Lubricant, Refrigerant
from shopcool.vehicles.models import Circuit

#: The tables of the refrigerant ledger live beside; Django finds them here.
LEDGER = (Account, LedgerEntry)
#: The same for the tables of incidents, of maintenance, of the reminders and of the wall displays.
INCIDENTS = (Incident,)
MAINTENANCE = (MaintenancePlan, MaintenanceRecord, PieceUse)
REMINDERS = (ReminderRun, Digest, Reminder, Snooze)
WALLS = (WallDisplay,)
#: The same for the tables of the oil.
OIL = (OilLot, OilStore, OilMove, OilTest)


class TimeSpan(models.Func):
    """The time between two columns, half open."""

    function = "TSTZRANGE"
    output_field = DateTimeRangeField()


def lubricant_set() -> ArrayField[list[str], list[str]]:
    """A column that holds a set of lubricant classes."""
    return ArrayField(models.CharField(max_length=10, choices=Lubricant.choices), default=list, blank=True)


def refrigerant_set() -> ArrayField[list[str], list[str]]:
    """A column that holds a set of refrigerants."""
    return ArrayField(models.CharField(max_length=10, choices=Refrigerant.choices), default=list, blank=True)


def additive_set() -> ArrayField[list[str], list[str]]:
    """A column that holds a set of additives."""
    return ArrayField(models.CharField(max_length=10, choices=Additive.choices), default=list, blank=True)


class Piece(models.Model):
    """A piece of wetted equipment, an instrument, or protection like gloves.

    ``refrigerant`` is the gas the piece is set up and labelled for; empty for tools that take the gas of
    the loop they were last purged with. ``lubricant`` is the permanent label of an injector. ``issued_on``
    is the day on which gloves were first given out for use. ``public_id`` stands in the code on the printed
    label and never changes, unlike ``code``.
    """

    public_id = models.CharField(max_length=10, unique=True, editable=False, default=new_public_id)
    code = models.CharField(_("code"), max_length=20, unique=True)
    name = models.CharField(_("name"), max_length=120)
    kind = models.CharField(_("kind"), max_length=20, choices=PieceKind.choices)
    refrigerant = models.CharField(_("refrigerant"), max_length=10, choices=Refrigerant.choices, blank=True)
    lubricant = models.CharField(_("oil class"), max_length=10, choices=Lubricant.choices, blank=True)
    lubricant_grade = models.CharField(_("oil grade"), max_length=60, blank=True)
    dedicated_to = models.CharField(_("dedicated to"), max_length=10, choices=Lubricant.choices, blank=True)
    maker = models.CharField(_("maker"), max_length=80, blank=True)
    serial_number = models.CharField(_("serial number"), max_length=80, blank=True)
    can_inject_oil = models.BooleanField(_("can inject oil"), null=True, blank=True)
    can_inject_dye = models.BooleanField(_("can inject dye"), null=True, blank=True)
    is_marked_for_contaminated = models.BooleanField(_("marked for contaminated gas"), default=False)
    # What a hose set holds: inner diameter and length of one line [m], or its volume as weighed [m³].
    bore_m = models.FloatField(_("bore of a line"), null=True, blank=True)
    length_m = models.FloatField(_("length of a line"), null=True, blank=True)
    line_count = models.PositiveSmallIntegerField(_("lines that stay full"), default=1)
    content_m3 = models.FloatField(_("content as weighed"), null=True, blank=True)
    measure_source = models.CharField(_("where this comes from"), max_length=160, blank=True)
    # How a machine weighs [kg], and whether it adds what its hoses keep.
    scale_tolerance_kg = models.FloatField(_("tolerance of the scale"), null=True, blank=True)
    hose_allowance = models.CharField(max_length=10, choices=HoseAllowance.choices, blank=True)
    allows_for = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="allowed_by"
    )
    #: What was typed for each measure, beside what it means.
    measures_typed = models.JSONField(default=dict, blank=True)
    glove_class = models.CharField(_("class"), max_length=2, choices=GloveClass.choices, blank=True)
    issued_on = models.DateField(_("issued on"), null=True, blank=True)
    retired_at = models.DateTimeField(null=True, blank=True)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="equipment_injector_label",
                condition=~Q(kind=PieceKind.INJECTOR) | (~Q(lubricant="") & ~Q(refrigerant="")),
            ),
            models.CheckConstraint(
                name="equipment_machine_refrigerant",
                condition=~Q(kind=PieceKind.MACHINE) | ~Q(refrigerant=""),
            ),
            models.CheckConstraint(
                name="equipment_hose_measures",
                condition=(Q(bore_m__isnull=True) | Q(bore_m__gte=5e-4, bore_m__lte=0.03))
                & (Q(length_m__isnull=True) | Q(length_m__gt=0, length_m__lte=30))
                & (Q(content_m3__isnull=True) | Q(content_m3__gt=0, content_m3__lte=0.022)),
            ),
            models.CheckConstraint(
                name="equipment_allowance_names_hoses",
                condition=Q(hose_allowance=HoseAllowance.ALLOWS) | Q(allows_for__isnull=True),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"

    @property
    def is_wetted(self) -> bool:
        """Whether refrigerant and oil pass through it, so that it can carry residue."""
        return PieceKind(self.kind).is_wetted


class PieceDocument(models.Model):
    """A dated proof of a piece: certificate or calibration, with number, body, standard and edition."""

    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, related_name="documents")
    kind = models.CharField(_("kind"), max_length=20, choices=DocumentKind.choices)
    number = models.CharField(_("number"), max_length=80)
    body = models.CharField(_("issued by"), max_length=120)
    standard = models.CharField(_("standard"), max_length=80, blank=True)
    edition = models.CharField(_("edition"), max_length=40, blank=True)
    refrigerants = refrigerant_set()
    #: Oil classes that the paper names; empty when it names none.
    lubricants = lubricant_set()
    covers_high_voltage = models.BooleanField(_("covers high-voltage compressors"), default=False)
    issued_on = models.DateField(_("issued on"))
    valid_until = models.DateField(_("valid until"), null=True, blank=True)
    created_at = models.DateTimeField(default=timezone.now)
    #: Who entered it; nobody is known for documents from before this was kept.
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+"
    )
    recorded_by_name = models.CharField(max_length=150, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="equipment_document_dates",
                condition=Q(valid_until__isnull=True) | Q(valid_until__gte=F("issued_on")),
            )
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.number}"


class PieceState(models.Model):
    """The derived condition of a piece: a projection of its exposures that can be rebuilt at any time.

    Created together with the piece, so that there is always a row to lock.
    """

    piece = models.OneToOneField(Piece, primary_key=True, on_delete=models.PROTECT, related_name="state")
    lubricants = lubricant_set()
    refrigerants = refrigerant_set()
    additives = additive_set()
    unknown = models.BooleanField(default=True)
    in_service = models.BooleanField(default=True)
    out_of_service_reason = models.CharField(max_length=300, blank=True)
    last_contact_at = models.DateTimeField(null=True)
    last_purge_at = models.DateTimeField(null=True)
    last_occurred_at = models.DateTimeField(null=True)
    sequence = models.BigIntegerField(default=0)

    def __str__(self) -> str:
        return f"state of piece {self.piece_id}"

    def condition(self) -> Condition:
        """Return the row as the rules know it."""
        return Condition(
            residue=Residue(
                lubricants=frozenset(self.lubricants),
                refrigerants=frozenset(self.refrigerants),
                additives=frozenset(self.additives),
                unknown=self.unknown,
            ),
            in_service=self.in_service,
            out_of_service_reason=self.out_of_service_reason,
            last_contact_at=self.last_contact_at,
            last_purge_at=self.last_purge_at,
        )

    def take(self, condition: Condition) -> None:
        """Write a condition into the columns; the caller saves."""
        self.lubricants = sorted(condition.residue.lubricants)
        self.refrigerants = sorted(condition.residue.refrigerants)
        self.additives = sorted(condition.residue.additives)
        self.unknown = condition.residue.unknown
        self.in_service = condition.in_service
        self.out_of_service_reason = condition.out_of_service_reason
        self.last_contact_at = condition.last_contact_at
        self.last_purge_at = condition.last_purge_at


class Purge(ChainedRecord):
    """A line purge: a loop of pieces flushed through a machine, with its readings.

    Mass in kg, duration in s, vacuum in Pa absolute. ``verified`` was decided by the method's rules when
    the purge was recorded, and ``findings`` says why not.
    """

    machine = models.ForeignKey(Piece, on_delete=models.PROTECT, related_name="+")
    piece_ids = ArrayField(models.BigIntegerField())
    refrigerant = models.CharField(max_length=10, choices=Refrigerant.choices)
    method = models.JSONField()
    circulated_kg = models.FloatField(null=True)
    duration_s = models.FloatField(null=True)
    final_vacuum_pa = models.FloatField(null=True)
    completed = models.BooleanField()
    readings = models.JSONField(default=dict)
    verified = models.BooleanField()
    findings = models.JSONField(default=list)
    job_number = models.CharField(max_length=20, blank=True)
    occurred_at = models.DateTimeField()
    note = models.CharField(max_length=500, blank=True)

    class Meta(ChainedRecord.Meta):
        constraints: ClassVar[list[models.BaseConstraint]] = [
            *ChainedRecord.Meta.constraints,
            models.CheckConstraint(
                name="equipment_purge_readings",
                condition=(Q(circulated_kg__isnull=True) | Q(circulated_kg__gte=0, circulated_kg__lte=100))
                & (Q(duration_s__isnull=True) | Q(duration_s__gte=0, duration_s__lte=86_400))
                & (Q(final_vacuum_pa__isnull=True) | Q(final_vacuum_pa__gte=0)),
            ),
        ]

    def __str__(self) -> str:
        return f"purge {self.sequence}"


class Exposure(ChainedRecord):
    """One event in a piece's life. Append-only; corrected by a new row that points at the old one."""

    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, related_name="exposures")
    kind = models.CharField(max_length=20, choices=ExposureKind.choices)
    lubricants = lubricant_set()
    refrigerants = refrigerant_set()
    additives = additive_set()
    unknown = models.BooleanField(default=False)
    verified = models.BooleanField(default=False)
    circuit = models.ForeignKey(Circuit, null=True, on_delete=models.PROTECT, related_name="exposures")
    job_number = models.CharField(max_length=20, blank=True)
    purge = models.ForeignKey(Purge, null=True, on_delete=models.PROTECT, related_name="exposures")
    corrects = models.OneToOneField("self", null=True, on_delete=models.PROTECT, related_name="corrected_by")
    occurred_at = models.DateTimeField()
    note = models.CharField(max_length=500, blank=True)
    action = models.UUIDField()
    rules_version = models.CharField(max_length=20)

    class Meta(ChainedRecord.Meta):
        constraints: ClassVar[list[models.BaseConstraint]] = [
            *ChainedRecord.Meta.constraints,
            models.CheckConstraint(
                name="equipment_exposure_known_kind", condition=Q(kind__in=ExposureKind.values)
            ),
            models.CheckConstraint(
                name="equipment_exposure_not_in_the_future",
                condition=Q(occurred_at__lte=F("recorded_at")),
            ),
            models.CheckConstraint(
                name="equipment_exposure_contact_has_circuit",
                condition=~Q(kind__in=[ExposureKind.CONNECTED, ExposureKind.DISCONNECTED])
                | Q(circuit__isnull=False),
            ),
            models.CheckConstraint(
                name="equipment_exposure_purge",
                condition=~Q(kind=ExposureKind.PURGED) | Q(purge__isnull=False),
            ),
        ]
        indexes = [
            # The life of a piece in the order in which it happened.
            models.Index(fields=["piece", "occurred_at", "sequence"], name="equipment_exposure_life"),
            models.Index(fields=["circuit", "occurred_at"], name="equipment_exposure_circuit"),
            # The log of all pieces, newest first.
            models.Index(fields=["occurred_at", "id"], name="equipment_exposure_log"),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} of piece {self.piece_id}"


class Clearance(ChainedRecord):
    """The recorded decision that named pieces may, or may not, be connected to a circuit now.

    ``request`` is everything the decision looked at, so that it can be judged again; ``reasons`` are all
    reasons, not only the first. ``transaction_number`` is filled in by the database and ties a connection
    to the clearance of the same transaction.
    """

    unhashed: ClassVar[frozenset[str]] = ChainedRecord.unhashed | {"transaction_number"}

    circuit = models.ForeignKey(Circuit, on_delete=models.PROTECT, related_name="clearances")
    job_number = models.CharField(max_length=20)
    piece_ids = ArrayField(models.BigIntegerField())
    verdict = models.CharField(max_length=12, choices=Verdict.choices)
    reasons = models.JSONField()
    request = models.JSONField()
    override_reason = models.CharField(max_length=500, blank=True)
    rules_version = models.CharField(max_length=20)
    occurred_at = models.DateTimeField()
    transaction_number = models.BigIntegerField(default=0)

    class Meta(ChainedRecord.Meta):
        constraints: ClassVar[list[models.BaseConstraint]] = [
            *ChainedRecord.Meta.constraints,
            models.CheckConstraint(
                name="equipment_clearance_override_has_reason",
                condition=~Q(verdict=Verdict.OVERRIDDEN) | ~Q(override_reason=""),
            ),
        ]
        indexes = [
            models.Index(fields=["job_number", "sequence"], name="equipment_clearance_job"),
            models.Index(fields=["verdict", "recorded_at"], name="equipment_clearance_verdict"),
            models.Index(fields=["occurred_at", "id"], name="equipment_clearance_log"),
            # The decisions that name a piece.
            GinIndex(fields=["piece_ids"], name="equipment_clearance_pieces"),
        ]

    def __str__(self) -> str:
        return f"{self.get_verdict_display()} for job {self.job_number}"


class Connection(models.Model):
    """A piece is on a vehicle from a time to a time; a piece is on at most one vehicle.

    The database accepts a row only together with a clearance of the same transaction that does not refuse
    it, and afterwards lets only the end be written, once.
    """

    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, related_name="connections")
    circuit = models.ForeignKey(Circuit, on_delete=models.PROTECT, related_name="connections")
    job_number = models.CharField(max_length=20)
    clearance = models.ForeignKey(Clearance, on_delete=models.PROTECT, related_name="connections")
    connected_at = models.DateTimeField()
    connected_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    disconnected_at = models.DateTimeField(null=True, blank=True)
    disconnected_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["piece"],
                name="equipment_one_vehicle_at_a_time",
                condition=Q(disconnected_at__isnull=True),
            ),
            ExclusionConstraint(
                name="equipment_connection_no_overlap",
                expressions=[
                    ("piece", RangeOperators.EQUAL),
                    (TimeSpan("connected_at", "disconnected_at"), RangeOperators.OVERLAPS),
                ],
            ),
            models.CheckConstraint(
                name="equipment_connection_order",
                condition=Q(disconnected_at__isnull=True) | Q(disconnected_at__gte=F("connected_at")),
            ),
        ]
        indexes = [
            models.Index(fields=["job_number"], name="equipment_connection_job"),
            models.Index(fields=["circuit", "connected_at"], name="equipment_connection_circuit"),
        ]

    def __str__(self) -> str:
        return f"piece {self.piece_id} on job {self.job_number}"
