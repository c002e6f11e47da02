"""What falls due on a day: maintenance, papers, competences and oil in one shape. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.db import models
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _


class DueKind(models.TextChoices):
    """What has to be renewed or done."""

    MAINTENANCE = "MAINTENANCE", _("Maintenance")
    CERTIFICATE = "CERTIFICATE", _("Certificate")
    CALIBRATION = "CALIBRATION", _("Calibration")
    COMPETENCE = "COMPETENCE", _("Competence")
    OIL = "OIL", _("Oil")


@dataclass(frozen=True)
class DueItem:
    """One thing that has to be renewed or done until a day.

    ``key`` stays the same as long as the same thing is meant, and says what kind of thing and which row.
    ``what`` is a part of a sentence, like "Filter-drier of M-1". ``blocks`` says that the piece is not
    ready, the person may not do the work, or the oil may not be used, once the day has passed. Nobody is
    reminded more than ``most_days_ahead``, where it is given: short limits would remind on their first day.
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
    lot_code: str = ""
    most_days_ahead: int | None = None

    def is_overdue(self, today: date) -> bool:
        """Whether the day has passed; what is due today is due, not overdue."""
        return self.due_on < today


def refusal_words(*, blocks: bool, is_person: bool, is_lot: bool) -> str:
    """Return what is refused once the day has passed, as a part of a sentence; empty when nothing is."""
    if not blocks:
        return ""
    if is_lot:
        return gettext("the oil may not be used")
    return gettext("the work is refused") if is_person else gettext("the piece is not ready")
