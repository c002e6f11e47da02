"""What falls due on a day: maintenance, certificates, calibrations and competences in one shape. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.db import models
from django.utils.translation import gettext_lazy as _


class DueKind(models.TextChoices):
    """What has to be renewed or done."""

    MAINTENANCE = "MAINTENANCE", _("Maintenance")
    CERTIFICATE = "CERTIFICATE", _("Certificate")
    CALIBRATION = "CALIBRATION", _("Calibration")
    COMPETENCE = "COMPETENCE", _("Competence")


@dataclass(frozen=True)
class DueItem:
    """One thing that has to be renewed or done until a day.

    ``key`` stays the same as long as the same thing is meant, and says what kind of thing and which row.
    ``what`` is a part of a sentence, like "Filter-drier of M-1". ``blocks`` says that the piece is not
    ready, or the person may not do the work, once the day has passed.
    """

    key: str
    kind: DueKind
    what: str
    due_on: date
    blocks: bool
    piece_id: int | None = None
    piece_code: str = ""
    user_id: int | None = None
    person: str = ""

    def is_overdue(self, today: date) -> bool:
        """Whether the day has passed; what is due today is due, not overdue."""
        return self.due_on < today
