"""Refrigerants, lubricants and compressor drives: the words that decide what may touch what."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _


class Refrigerant(models.TextChoices):
    """What a circuit is filled with. Pressure can't tell two of them apart; an identifier can."""

    R134A = "R134A", "R-134a"
    R1234YF = "R1234YF", "R-1234yf"
    R744 = "R744", "R-744"
    R152A = "R152A", "R-152a"
    R12 = "R12", "R-12"
    UNKNOWN = "UNKNOWN", _("Unknown refrigerant")

    @property
    def is_flammable(self) -> bool:
        """Whether the refrigerant is flammable (ISO 817 class 2L or 2)."""
        return self in {Refrigerant.R1234YF, Refrigerant.R152A}


class Lubricant(models.TextChoices):
    """The class of a refrigeration oil. The grade is free text beside it."""

    PAG = "PAG", "PAG"
    POE = "POE", "POE"
    PVE = "PVE", "PVE"
    PAO = "PAO", "PAO"
    MINERAL = "MINERAL", _("Mineral")
    UNKNOWN = "UNKNOWN", _("Unknown oil")

    @property
    def may_enter_high_voltage(self) -> bool:
        """Whether a trace of the oil may reach the windings of a high-voltage compressor.

        PAG conducts, more so with moisture (common practice), and an unknown oil is treated as if it did.
        """
        return self not in {Lubricant.PAG, Lubricant.UNKNOWN}

    @property
    def draws_moisture(self) -> bool:
        """Whether the oil takes up water from the air, so that an open container spoils (common practice)."""
        return self not in {Lubricant.PAO, Lubricant.MINERAL}


class Additive(models.TextChoices):
    """What else may have been put into a circuit."""

    DYE = "DYE", _("Leak dye")
    SEALER = "SEALER", _("Leak sealer")


class Drive(models.TextChoices):
    """What turns the compressor. The oil follows the drive and the label, never the word hybrid."""

    BELT = "BELT", _("Belt")
    ELECTRIC_HV = "ELECTRIC_HV", _("Electric, high voltage")
    DUAL = "DUAL", _("Belt and electric")
    ELECTRIC_LV = "ELECTRIC_LV", _("Electric, low voltage")

    @property
    def is_high_voltage(self) -> bool:
        """Whether the electric rule applies: windings on high voltage sit in refrigerant and oil."""
        return self in {Drive.ELECTRIC_HV, Drive.DUAL}


class Metering(models.TextChoices):
    """What lets the refrigerant expand."""

    EXPANSION_VALVE = "EXPANSION_VALVE", _("Expansion valve")
    ORIFICE_TUBE = "ORIFICE_TUBE", _("Orifice tube with accumulator")
    ELECTRONIC_VALVE = "ELECTRONIC_VALVE", _("Electronic valve")
    UNKNOWN = "UNKNOWN", _("Unknown")


#: Isolation fault of the high-voltage system (SAE J2012, from memory).
ISOLATION_CODE = "P0AA6"


class CodeArea(models.TextChoices):
    """Where the maker's table says that a trouble code points."""

    CIRCUIT = "CIRCUIT", _("A/C circuit or compressor")
    AREA = "AREA", _("An area that holds the compressor")
    ELSEWHERE = "ELSEWHERE", _("Somewhere else")
    NO_PLACE = "NO_PLACE", _("No place")
