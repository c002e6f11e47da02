"""Rules about maintenance: a failed check refuses at once, an overdue plan refuses or warns."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from equipment.readiness.facts import ClearanceRequest, MaintenanceFacts, PieceFacts
from equipment.readiness.reasons import Reason, refuse, warn


def maintenance_reasons(piece: PieceFacts, today: date) -> Iterator[Reason]:
    """Yield what failed checks and overdue plans say about a piece on a day."""
    for plan in piece.maintenance:
        if plan.failed_on is not None:
            yield refuse(
                "maintenance_failed",
                _("%(piece)s failed on %(day)s: %(work)s.")
                % {"piece": piece.code, "work": plan.what, "day": date_format(plan.failed_on, "j M Y")},
                _("Have it put right and record the check that it then passes."),
                plan.source,
                piece,
            )
        elif plan.is_overdue(today):
            say = refuse if plan.not_ready else warn
            yield say(
                "maintenance_overdue",
                _overdue(piece, plan),
                _("Do the work and record it on the page of %(piece)s.") % {"piece": piece.code},
                plan.source,
                piece,
            )


def _overdue(piece: PieceFacts, plan: MaintenanceFacts) -> str:
    named = {"piece": piece.code, "work": plan.what}
    if plan.is_reached or plan.due_on is None:
        return _("%(piece)s has been used as long as it may be: %(work)s is due.") % named
    day = date_format(plan.due_on, "j M Y")
    return _("%(work)s of %(piece)s was due on %(day)s.") % {**named, "day": day}


def _maintained(request: ClearanceRequest, piece: PieceFacts) -> Iterator[Reason]:
    return maintenance_reasons(piece, request.today)


MAINTENANCE_RULES: tuple[Callable[[ClearanceRequest, PieceFacts], Iterator[Reason]], ...] = (_maintained,)
