"""Tables of the oil: lots, where oil can be, every movement, and vial tests of new oil."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from equipment.oil.grades import LARGEST_CONTAINER_M3, LARGEST_DENSITY, SMALLEST_DENSITY
from shopcool.core.records import ChainedRecord
from shopcool.vehicles.choices import Lubricant
from shopcool.vehicles.models import Circuit

#: Oil classes that a lot can have; oil that nobody can name is never dispensed.
LOT_LUBRICANTS = [choice for choice in Lubricant.choices if choice[0] != Lubricant.UNKNOWN]


class OilLot(models.Model):
    """One container of oil with its batch, from the day it came.

    Volumes in m³, density in kg/m³ at the temperature its source states. ``bad_at`` says since when it must
    not be used; a lot found bad stays so.
    """

    code = models.CharField(_("code"), max_length=20, unique=True)
    lubricant = models.CharField(_("oil class"), max_length=10, choices=LOT_LUBRICANTS)
    grade = models.CharField(_("grade"), max_length=60)
    supplier = models.CharField(_("supplier"), max_length=120)
    batch = models.CharField(_("batch number"), max_length=80)
    container_m3 = models.FloatField(_("size of the container"))
    container_typed = models.CharField(max_length=40)
    density_kg_m3 = models.FloatField(_("density"))
    density_typed = models.CharField(max_length=40)
    density_source = models.CharField(_("where the density stands"), max_length=160)
    low_m3 = models.FloatField(_("low-stock level"), null=True, blank=True)
    low_typed = models.CharField(max_length=40, blank=True)
    received_on = models.DateField(_("received on"))
    opened_at = models.DateTimeField(_("opened at"), null=True, blank=True)
    bad_at = models.DateTimeField(null=True, blank=True)
    bad_reason = models.CharField(_("why it is bad"), max_length=300, blank=True)
    bad_by_name = models.CharField(max_length=150, blank=True)
    created_at = models.DateTimeField()
    created_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    #: One per form that was filled in, so that the same form sent twice makes one lot.
    submission_key = models.UUIDField(null=True, blank=True, unique=True, editable=False)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="equipment_lot_measures",
                condition=Q(container_m3__gt=0, container_m3__lte=LARGEST_CONTAINER_M3)
                & Q(density_kg_m3__gte=SMALLEST_DENSITY, density_kg_m3__lte=LARGEST_DENSITY)
                & (Q(low_m3__isnull=True) | Q(low_m3__gte=0)),
            ),
            models.CheckConstraint(
                name="equipment_lot_bad_with_reason", condition=Q(bad_at__isnull=True) | ~Q(bad_reason="")
            ),
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.oil}"

    @property
    def oil(self) -> str:
        """Class and grade in words; a grade that names its class says it once."""
        oil = str(self.get_lubricant_display())
        return self.grade if oil.casefold() in self.grade.casefold() else f"{oil} {self.grade}"


class StoreKind(models.TextChoices):
    """Where oil can be."""

    LOT = "LOT", _("Oil lot")
    INJECTOR = "INJECTOR", _("Oil injector")
    VEHICLE = "VEHICLE", _("Vehicle")
    SUPPLIER = "SUPPLIER", _("Supplier")
    WASTE = "WASTE", _("Waste oil")
    UNACCOUNTED = "UNACCOUNTED", _("Not accounted for")

    @property
    def holds_stock(self) -> bool:
        """Whether the workshop keeps and measures it, so that it can't hold less than nothing."""
        return self in {StoreKind.LOT, StoreKind.INJECTOR}


class OilStore(models.Model):
    """One place in which oil can be, with the volume [m³] and the mass [kg] it holds."""

    kind = models.CharField(max_length=12, choices=StoreKind.choices)
    lot = models.OneToOneField(OilLot, null=True, on_delete=models.PROTECT, related_name="store")
    piece = models.OneToOneField(
        "equipment.Piece", null=True, on_delete=models.PROTECT, related_name="oil_store"
    )
    circuit = models.OneToOneField(Circuit, null=True, on_delete=models.PROTECT, related_name="oil_store")
    volume_m3 = models.DecimalField(max_digits=14, decimal_places=10, default=0)
    mass_kg = models.DecimalField(max_digits=14, decimal_places=7, default=0)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="equipment_oil_stock_not_negative",
                condition=~Q(kind__in=[kind for kind in StoreKind if kind.holds_stock])
                | Q(volume_m3__gte=0, mass_kg__gte=0),
            ),
            models.CheckConstraint(
                name="equipment_oil_store_owner",
                condition=Q(kind=StoreKind.LOT, lot__isnull=False, piece__isnull=True, circuit__isnull=True)
                | Q(kind=StoreKind.INJECTOR, lot__isnull=True, piece__isnull=False, circuit__isnull=True)
                | Q(kind=StoreKind.VEHICLE, lot__isnull=True, piece__isnull=True, circuit__isnull=False)
                | Q(
                    kind__in=[StoreKind.SUPPLIER, StoreKind.WASTE, StoreKind.UNACCOUNTED],
                    lot__isnull=True,
                    piece__isnull=True,
                    circuit__isnull=True,
                ),
            ),
            models.UniqueConstraint(
                fields=["kind"],
                name="equipment_oil_store_one_of_its_kind",
                condition=Q(lot__isnull=True, piece__isnull=True, circuit__isnull=True),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.pk}"


class MoveKind(models.TextChoices):
    """Why oil moved."""

    RECEIVED = "RECEIVED", _("Received")
    FILLED = "FILLED", _("Filled into an injector")
    ADDED = "ADDED", _("Added to a vehicle")
    CORRECTED = "CORRECTED", _("Difference of a corrected step")
    WASTED = "WASTED", _("Taken out as waste")
    MEASURED = "MEASURED", _("Difference found by measuring")


class OilMove(ChainedRecord):
    """Oil that moved from one place to another, in m³ and kg. Append-only."""

    kind = models.CharField(max_length=12, choices=MoveKind.choices)
    source = models.ForeignKey(OilStore, on_delete=models.PROTECT, related_name="given")
    target = models.ForeignKey(OilStore, on_delete=models.PROTECT, related_name="taken")
    volume_m3 = models.DecimalField(max_digits=14, decimal_places=10)
    mass_kg = models.DecimalField(max_digits=14, decimal_places=7)
    typed = models.CharField(max_length=60, blank=True)
    job_number = models.CharField(max_length=20, blank=True)
    occurred_at = models.DateTimeField()
    note = models.CharField(max_length=300, blank=True)
    #: One per form that was filled in, so that the same form sent twice moves oil once.
    submission_key = models.UUIDField(null=True, unique=True)

    class Meta(ChainedRecord.Meta):
        constraints: ClassVar[list[models.BaseConstraint]] = [
            *ChainedRecord.Meta.constraints,
            models.CheckConstraint(
                name="equipment_oil_move_amount", condition=Q(volume_m3__gt=0, mass_kg__gte=0)
            ),
            models.CheckConstraint(name="equipment_oil_move_two_places", condition=~Q(source=F("target"))),
        ]
        indexes = [models.Index(fields=["job_number"], name="equipment_oil_move_job")]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.volume_m3} m³"


class OilTest(ChainedRecord):
    """A vial of a lot measured with an insulation tester: what was typed, and what it means. Append-only."""

    lot = models.ForeignKey(OilLot, on_delete=models.PROTECT, related_name="tests")
    readings = models.JSONField()
    verdict = models.CharField(max_length=40)
    sentence = models.CharField(max_length=300)
    speaks_against = models.BooleanField()
    method_version = models.CharField(max_length=40)
    occurred_at = models.DateTimeField()
    note = models.CharField(max_length=300, blank=True)

    class Meta(ChainedRecord.Meta):
        indexes = [models.Index(fields=["lot", "occurred_at"], name="equipment_oil_test_lot")]

    def __str__(self) -> str:
        return f"{self.verdict} of lot {self.lot_id}"
