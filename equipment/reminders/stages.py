"""The stages in which a due thing is brought to mind. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from django.db import models
from django.utils.translation import gettext_lazy as _


class Stage(models.TextChoices):
    """How urgent a reminder is."""

    COMING = "COMING", _("Coming")
    DUE = "DUE", _("Due today")
    OVERDUE = "OVERDUE", _("Overdue")


@dataclass(frozen=True)
class Notice:
    """One stage of one due thing; ``days_ahead`` tells the several notices before the day apart [days]."""

    stage: Stage
    days_ahead: int = 0


def notices_reached(due_on: date, today: date, days_ahead: Iterable[int]) -> tuple[Notice, ...]:
    """Return every notice whose day has come, the oldest first; only the last one still matters."""
    coming = [
        Notice(Stage.COMING, days)
        for days in sorted(set(days_ahead), reverse=True)
        if today >= due_on - timedelta(days=days)
    ]
    on_the_day = [Notice(Stage.DUE)] if today >= due_on else []
    after = [Notice(Stage.OVERDUE)] if today > due_on else []
    return (*coming, *on_the_day, *after)
