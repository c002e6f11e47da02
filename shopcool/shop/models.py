"""The settings of the workshop: one row."""

from __future__ import annotations

from datetime import time

from django.conf import settings
from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.utils.translation import gettext_lazy as _

from shopcool.core.unit_choices import MassUnit, PressureUnit, TemperatureUnit, VolumeUnit
from shopcool.shop.limits import USUAL_PIECE_M3


def usual_days_ahead() -> list[int]:
    """Return the days before a due day on which somebody is reminded, unless the workshop says otherwise."""
    return [30, 7]


class Jurisdiction(models.TextChoices):
    """Whose rules apply to the workshop."""

    US = "US", _("United States")
    EU = "EU", _("European Union")
    OTHER = "OTHER", _("Another country")


class Shop(models.Model):
    """The workshop: identity, place, units and the policies that rules read.

    There is exactly one row, number 1. Lengths in metres, pressures in Pa, times in minutes.
    """

    name = models.CharField(_("name of the workshop"), max_length=120)
    address = models.TextField(_("address"), blank=True, max_length=500)
    time_zone = models.CharField(_("time zone"), max_length=60, default="UTC")
    altitude_m = models.FloatField(_("altitude"), default=0.0)
    barometer_pa = models.FloatField(_("barometer"), null=True, blank=True)
    pressure_unit = models.CharField(max_length=10, choices=PressureUnit.choices, default=PressureUnit.BAR)
    temperature_unit = models.CharField(
        max_length=4, choices=TemperatureUnit.choices, default=TemperatureUnit.CELSIUS
    )
    mass_unit = models.CharField(max_length=4, choices=MassUnit.choices, default=MassUnit.GRAM)
    volume_unit = models.CharField(max_length=10, choices=VolumeUnit.choices, default=VolumeUnit.MILLILITRE)
    jurisdiction = models.CharField(max_length=10, choices=Jurisdiction.choices, default=Jurisdiction.OTHER)

    high_voltage_wait_minutes = models.PositiveSmallIntegerField(_("wait after shut-down"), default=10)
    glove_check_required = models.BooleanField(
        _("gloves with test in date for high-voltage work"), default=True
    )
    minimum_purity = models.FloatField(_("least purity of the refrigerant"), default=0.98)
    maximum_hydrocarbon = models.FloatField(_("hydrocarbon alarm"), default=0.02)
    maximum_air = models.FloatField(_("air alert"), default=0.02)
    next_service_months = models.PositiveSmallIntegerField(_("usual time to the next service"), default=24)
    glove_test_months = models.PositiveSmallIntegerField(_("age of a glove test"), default=6)
    insulation_like_k = models.FloatField(_("temperature band of comparable insulation tests"), default=10.0)

    #: Oil that draws moisture is no longer dispensed from a container that has been open for longer.
    oil_open_days = models.PositiveSmallIntegerField(_("days an oil container may stand open"), default=30)
    #: Offered for a new lot as the level at which the next one is ordered; empty offers none.
    oil_low_m3 = models.FloatField(_("usual level to order oil again"), null=True, blank=True)

    # What a line purge must show, and what the carry-over estimate assumes.
    purge_minimum_kg = models.FloatField(_("least mass through a purged loop"), default=0.3)
    purge_minimum_s = models.FloatField(_("least duration of a line purge"), default=180.0)
    purge_maximum_vacuum_pa = models.FloatField(_("weakest final vacuum of a line purge"), default=10_000.0)
    purge_note = models.CharField(_("why the purge limits are what they are"), max_length=200, blank=True)
    carry_oil_kg = models.FloatField(_("oil left in a drained piece"), default=2e-3)
    carry_volume_m3 = models.FloatField(_("volume of a piece that nobody measured"), default=USUAL_PIECE_M3)
    carry_mixing = models.FloatField(_("least share of the oil film that a purge reaches"), default=0.3)

    #: Reminders are written once a day, from this time of the workshop's own day on.
    reminders_at = models.TimeField(_("time of the reminders"), default=time(7))
    reminder_days = ArrayField(
        models.PositiveSmallIntegerField(), verbose_name=_("days ahead"), default=usual_days_ahead
    )
    equipment_keeper = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        verbose_name=_("who looks after the equipment"),
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="+",
    )

    class Meta:
        constraints = [
            models.CheckConstraint(name="shop_only_one", condition=models.Q(pk=1)),
            models.CheckConstraint(
                name="shop_altitude", condition=models.Q(altitude_m__gte=-430, altitude_m__lte=5500)
            ),
            models.CheckConstraint(
                name="shop_barometer",
                condition=models.Q(barometer_pa__isnull=True)
                | models.Q(barometer_pa__gte=50_000, barometer_pa__lte=110_000),
            ),
        ]

    def __str__(self) -> str:
        return self.name
