"""Kinds of maintenance work, where an interval comes from, and what being overdue means."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _


class Work(models.TextChoices):
    """What is done to a piece at intervals."""

    FILTER_DRIER = "FILTER_DRIER", _("Filter-drier")
    PUMP_OIL = "PUMP_OIL", _("Vacuum pump oil")
    SCALE_CHECK = "SCALE_CHECK", _("Scale check")
    TANK_CHECK = "TANK_CHECK", _("Air in the tank")
    LEAK_CHECK = "LEAK_CHECK", _("Hose and seal leak check")
    SIGHT_GLASS_FILTER = "SIGHT_GLASS_FILTER", _("Sight-glass filter")
    IDENTIFIER_FILTER = "IDENTIFIER_FILTER", _("Identifier filter")
    DETECTOR_CHECK = "DETECTOR_CHECK", _("Leak detector check")
    TESTER_CALIBRATION = "TESTER_CALIBRATION", _("Tester calibration")
    GAUGE_CALIBRATION = "GAUGE_CALIBRATION", _("Gauge calibration")
    MASS_CALIBRATION = "MASS_CALIBRATION", _("Reference mass calibration")
    GLOVE_TEST = "GLOVE_TEST", _("Glove test")
    REQUALIFICATION = "REQUALIFICATION", _("Cylinder requalification")
    OTHER = "OTHER", _("Other work")

    @property
    def is_check(self) -> bool:
        """Whether the work ends with a verdict, so that "done" alone says nothing."""
        return self in {
            Work.SCALE_CHECK,
            Work.TANK_CHECK,
            Work.LEAK_CHECK,
            Work.DETECTOR_CHECK,
            Work.TESTER_CALIBRATION,
            Work.GAUGE_CALIBRATION,
            Work.MASS_CALIBRATION,
            Work.GLOVE_TEST,
            Work.REQUALIFICATION,
        }

    @property
    def is_judged(self) -> bool:
        """Whether the outcome follows from the readings, so that nobody has to say it."""
        return self in {Work.SCALE_CHECK, Work.TANK_CHECK}


class WhenOverdue(models.TextChoices):
    """What an overdue plan means for its piece."""

    NOT_READY = "NOT_READY", _("The piece is not ready")
    WARN = "WARN", _("A warning, the piece stays ready")


class IntervalSource(models.TextChoices):
    """Who says how often."""

    MAKER = "MAKER", _("Maker's manual")
    STANDARD = "STANDARD", _("Standard or regulation")
    SHOP_POLICY = "SHOP_POLICY", _("Shop policy")
    COMMON_PRACTICE = "COMMON_PRACTICE", _("Common practice")


class WorkOutcome(models.TextChoices):
    """How a piece of work ended."""

    PASSED = "PASSED", _("Passed")
    FAILED = "FAILED", _("Failed")
    NOT_JUDGED = "NOT_JUDGED", _("Done, nothing to judge")
