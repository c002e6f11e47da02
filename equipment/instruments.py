"""Whether what stays off vehicles may be used today, and what stands against it. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from django.utils.translation import gettext as _

from equipment.readiness import PieceFacts, Reason
from equipment.readiness.maintenance_rules import maintenance_reasons
from equipment.readiness.piece_rules import service_reasons
from equipment.readiness.reasons import SHOP_POLICY, Severity, refuse


def reasons(piece: PieceFacts, today: date) -> tuple[Reason, ...]:
    """Return every refusal and warning about an instrument, a cylinder or a bottle on a day."""
    return (
        *service_reasons(piece),
        *maintenance_reasons(piece, today),
        *_paper_reasons(piece, today),
    )


def objections(piece: PieceFacts, today: date) -> tuple[Reason, ...]:
    """Return what forbids the use of an instrument on a day; empty when it may be used."""
    return tuple(reason for reason in reasons(piece, today) if reason.severity is Severity.REFUSAL)


def _paper_reasons(piece: PieceFacts, today: date) -> Iterator[Reason]:
    """A certificate or calibration that an instrument has must be in date; one it never had is not missed."""
    for kind in dict.fromkeys(document.kind for document in piece.documents):
        if not any(document.in_date(today) for document in piece.documents if document.kind is kind):
            yield refuse(
                "document_out_of_date",
                _("The newest %(document)s of %(piece)s has run out.")
                % {"document": str(kind.label).lower(), "piece": piece.code},
                _("Take another one, or have it renewed and entered by the owner."),
                SHOP_POLICY,
                piece,
            )
