"""The units that a workshop or a person may prefer, one choice per quantity."""

from __future__ import annotations

from django.db import models


class PressureUnit(models.TextChoices):
    """The unit pressures are shown in."""

    BAR = "bar", "bar"
    KPA = "kPa", "kPa"
    PSI = "psi", "psi"


class TemperatureUnit(models.TextChoices):
    """The unit temperatures are shown in."""

    CELSIUS = "°C", "°C"
    FAHRENHEIT = "°F", "°F"


class MassUnit(models.TextChoices):
    """The unit refrigerant is weighed in."""

    GRAM = "g", "g"
    KILOGRAM = "kg", "kg"
    OUNCE = "oz", "oz"
    POUND = "lb", "lb"


class VolumeUnit(models.TextChoices):
    """The unit oil is measured in."""

    MILLILITRE = "ml", "ml"
    US_FLUID_OUNCE = "US fl oz", "US fl oz"
    IMPERIAL_FLUID_OUNCE = "imp fl oz", "imp fl oz"
