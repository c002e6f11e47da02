"""Tables of the refrigerant ledger: every gram moves between two accounts."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from shopcool.core.records import ChainedRecord
from shopcool.vehicles.choices import Refrigerant
from shopcool.vehicles.models import Circuit


class AccountKind(models.TextChoices):
    """Where refrigerant can be."""

    CYLINDER = "CYLINDER", _("Cylinder")
    MACHINE_TANK = "MACHINE_TANK", _("Tank of a machine")
    VEHICLE = "VEHICLE", _("Vehicle")
    SUPPLIER = "SUPPLIER", _("Supplier")
    RECLAIMER = "RECLAIMER", _("Reclaimer")
    UNACCOUNTED = "UNACCOUNTED", _("Not accounted for")

    @property
    def holds_stock(self) -> bool:
        """Whether the workshop keeps it and weighs it, so that it can't hold less than nothing."""
        return self in {AccountKind.CYLINDER, AccountKind.MACHINE_TANK}


class Content(models.TextChoices):
    """What a stock account holds: one refrigerant, or gas that must be sent away."""

    R134A = Refrigerant.R134A.value, Refrigerant.R134A.label
    R1234YF = Refrigerant.R1234YF.value, Refrigerant.R1234YF.label
    R744 = Refrigerant.R744.value, Refrigerant.R744.label
    R152A = Refrigerant.R152A.value, Refrigerant.R152A.label
    R12 = Refrigerant.R12.value, Refrigerant.R12.label
    CONTAMINATED = "CONTAMINATED", _("Contaminated gas")


class Account(models.Model):
    """One place in which refrigerant can be, with its balance [kg] and what it holds now."""

    kind = models.CharField(max_length=12, choices=AccountKind.choices)
    piece = models.OneToOneField(
        "equipment.Piece", null=True, on_delete=models.PROTECT, related_name="account"
    )
    circuit = models.OneToOneField(Circuit, null=True, on_delete=models.PROTECT, related_name="account")
    content = models.CharField(max_length=12, choices=Content.choices, blank=True)
    balance_kg = models.DecimalField(max_digits=10, decimal_places=4, default=0)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="equipment_account_stock_not_negative",
                condition=~Q(kind__in=[kind for kind in AccountKind if kind.holds_stock])
                | Q(balance_kg__gte=0),
            ),
            models.UniqueConstraint(
                fields=["kind"],
                name="equipment_account_one_of_its_kind",
                condition=Q(piece__isnull=True, circuit__isnull=True),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.pk}"


class LedgerEntry(ChainedRecord):
    """Refrigerant that moved from one account to another [kg]. Append-only."""

    source = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="given")
    target = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="taken")
    content = models.CharField(max_length=12, choices=Content.choices)
    mass_kg = models.DecimalField(max_digits=10, decimal_places=4)
    job_number = models.CharField(max_length=20, blank=True)
    occurred_at = models.DateTimeField()
    note = models.CharField(max_length=300, blank=True)

    class Meta(ChainedRecord.Meta):
        constraints: ClassVar[list[models.BaseConstraint]] = [
            *ChainedRecord.Meta.constraints,
            models.CheckConstraint(name="equipment_ledger_mass", condition=Q(mass_kg__gt=0)),
            models.CheckConstraint(name="equipment_ledger_two_accounts", condition=~Q(source=F("target"))),
        ]
        indexes = [models.Index(fields=["job_number"], name="equipment_ledger_job")]

    def __str__(self) -> str:
        return f"{self.mass_kg} kg {self.content}"
