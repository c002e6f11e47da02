"""Customers, vehicles and circuits."""

from __future__ import annotations

from django.conf import settings
from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models.functions import Lower
from django.utils.translation import gettext_lazy as _

from shopcool.core.records import ChainedRecord
from shopcool.vehicles.choices import CodeArea, Drive, Lubricant, Metering, Refrigerant


class Customer(models.Model):
    """Who brings the vehicle."""

    name = models.CharField(_("name"), max_length=160)
    phone = models.CharField(_("phone"), max_length=60, blank=True)
    email = models.EmailField(_("e-mail"), blank=True)
    created_at = models.DateTimeField(auto_now_add=True)

    def __str__(self) -> str:
        return self.name


class Vehicle(models.Model):
    """One vehicle. The VIN is kept normalised; a number that can't be checked says why."""

    customer = models.ForeignKey(
        Customer, null=True, blank=True, on_delete=models.PROTECT, related_name="vehicles"
    )
    registration = models.CharField(_("registration"), max_length=20)
    vin = models.CharField(_("VIN"), max_length=17, blank=True)
    vin_reason = models.CharField(_("why the VIN is unusual"), max_length=200, blank=True)
    make = models.CharField(_("make"), max_length=60)
    model = models.CharField(_("model"), max_length=60)
    model_year = models.PositiveSmallIntegerField(_("model year"), null=True, blank=True)
    created_at = models.DateTimeField(auto_now_add=True)
    #: One per form that was filled in, so that the same form sent twice makes one vehicle.
    submission_key = models.UUIDField(null=True, blank=True, unique=True, editable=False)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["vin"], name="vehicles_vehicle_vin_once", condition=~models.Q(vin="")
            )
        ]
        indexes = [models.Index(fields=["registration"], name="vehicles_registration")]

    def __str__(self) -> str:
        return f"{self.registration} {self.make} {self.model}"


class Circuit(models.Model):
    """A vehicle's refrigerant circuit, as its label says.

    Masses in kg, oil in m³, voltage in V; what was typed stands beside each. Unknown data is null or
    UNKNOWN, and whatever needs it says so.
    """

    vehicle = models.ForeignKey(Vehicle, on_delete=models.PROTECT, related_name="circuits")
    name = models.CharField(_("name"), max_length=60, default="A/C")
    refrigerant = models.CharField(
        _("refrigerant"), max_length=10, choices=Refrigerant.choices, default=Refrigerant.UNKNOWN
    )
    charge_kg = models.FloatField(_("label charge"), null=True, blank=True)
    charge_typed = models.CharField(max_length=40, blank=True)
    tolerance_kg = models.FloatField(_("tolerance of the charge"), null=True, blank=True)
    tolerance_typed = models.CharField(max_length=40, blank=True)
    lubricant = models.CharField(
        _("oil class"), max_length=10, choices=Lubricant.choices, default=Lubricant.UNKNOWN
    )
    lubricant_grade = models.CharField(_("oil grade"), max_length=60, blank=True)
    oil_m3 = models.FloatField(_("oil in the circuit"), null=True, blank=True)
    oil_typed = models.CharField(max_length=40, blank=True)
    drive = models.CharField(_("compressor drive"), max_length=12, choices=Drive.choices)
    working_voltage_v = models.FloatField(_("working voltage"), null=True, blank=True)
    metering = models.CharField(
        _("expansion device"), max_length=16, choices=Metering.choices, default=Metering.UNKNOWN
    )
    high_voltage_wait_minutes = models.PositiveSmallIntegerField(
        _("wait after shut-down, by the vehicle maker"), null=True, blank=True
    )
    #: The maker's rule as the oil balance reads it, with its source; there is no generic one.
    oil_rule = models.TextField(_("oil rule of the vehicle maker"), blank=True, max_length=10_000)
    # What the vehicle maker asks of the equipment and of a leak search, with its source.
    no_dye = models.BooleanField(_("no dye, by the vehicle maker"), default=False)
    dedicated_hoses = models.BooleanField(_("dedicated hoses, by the vehicle maker"), default=False)
    search_pressure_pa = models.FloatField(_("least pressure for a leak search"), null=True, blank=True)
    search_pressure_typed = models.CharField(max_length=40, blank=True)
    search_temperature_k = models.FloatField(_("least temperature for a leak search"), null=True, blank=True)
    search_temperature_typed = models.CharField(max_length=40, blank=True)
    maker_source = models.CharField(_("where the maker asks for it"), max_length=160, blank=True)
    label_source = models.CharField(_("where the data comes from"), max_length=120, blank=True)
    #: Lubricant classes that may have entered besides the label's own, after an override or an incident.
    suspected_lubricants = ArrayField(
        models.CharField(max_length=10, choices=Lubricant.choices), default=list, blank=True
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["vehicle", "name"], name="vehicles_circuit_name_once"),
            models.CheckConstraint(
                name="vehicles_circuit_charge",
                condition=models.Q(charge_kg__isnull=True) | models.Q(charge_kg__gt=0, charge_kg__lte=30),
            ),
            models.CheckConstraint(
                name="vehicles_circuit_tolerance",
                condition=models.Q(tolerance_kg__isnull=True)
                | models.Q(tolerance_kg__gte=0, tolerance_kg__lte=1),
            ),
            models.CheckConstraint(
                name="vehicles_circuit_oil",
                condition=models.Q(oil_m3__isnull=True) | models.Q(oil_m3__gt=0, oil_m3__lte=0.01),
            ),
            models.CheckConstraint(
                name="vehicles_circuit_voltage",
                condition=models.Q(working_voltage_v__isnull=True)
                | models.Q(working_voltage_v__gt=0, working_voltage_v__lte=1500),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.vehicle} – {self.name}"

    @property
    def is_high_voltage(self) -> bool:
        """Whether the electric rule applies to this circuit."""
        return Drive(self.drive).is_high_voltage


class CodeMeaning(models.Model):
    """What a vehicle maker's table says about one trouble code of one model; entered by the shop.

    ``detail`` is the maker's own code behind the standard one, empty for the code alone. Make and model are
    compared without regard to capitals.
    """

    make = models.CharField(_("make"), max_length=60)
    model = models.CharField(_("model"), max_length=60)
    code = models.CharField(_("code"), max_length=5)
    detail = models.CharField(_("detail code"), max_length=3, blank=True)
    meaning = models.CharField(_("meaning"), max_length=300)
    area = models.CharField(_("where it points"), max_length=10, choices=CodeArea.choices)
    source = models.CharField(_("where the table stands"), max_length=200)
    entered_at = models.DateTimeField()
    entered_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(
                Lower("make"), Lower("model"), "code", "detail", name="vehicles_code_once_per_model"
            )
        ]

    def __str__(self) -> str:
        return f"{self.make} {self.model} {self.code} {self.detail}".strip()


class CircuitEntry(ChainedRecord):
    """What somebody entered about a circuit; the newest entry is what the circuit says now.

    ``values`` holds every column as it was entered, so that a clearance can be explained years later.
    """

    circuit = models.ForeignKey(Circuit, on_delete=models.PROTECT, related_name="entries")
    values = models.JSONField()

    class Meta(ChainedRecord.Meta):
        indexes = [models.Index(fields=["circuit", "sequence"], name="vehicles_entry_of_circuit")]

    def __str__(self) -> str:
        return f"{self.circuit_id} entered by {self.recorded_by_name}"
