"""An injector never gets another label: it is retired, and a new one starts with a log of its own."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _

from equipment.choices import PieceKind
from equipment.models import Piece
from equipment.policies import may_manage_equipment
from equipment.services.pieces import PieceDescription, piece_register, piece_retire
from shopcool.core.actors import Actor
from shopcool.core.errors import DomainError, require


@transaction.atomic
def injector_replace(
    *, actor: Actor, injector: Piece, description: PieceDescription, reason: str, now: datetime
) -> Piece:
    """Retire an injector with what it still holds, and register a new one under its own code.

    Raises NotAllowed, ReasonMissing, PieceBusy, and what registering raises.
    """
    require(may_manage_equipment(actor))
    if injector.kind != PieceKind.INJECTOR or description.kind is not PieceKind.INJECTOR:
        raise DomainError(_("Only an injector is replaced by an injector."))
    if not description.lubricant_grade.strip():
        raise DomainError(
            _("A label names the grade: others are not interchangeable."), field="lubricant_grade"
        )
    piece_retire(actor=actor, piece=injector, reason=reason, now=now)
    return piece_register(actor=actor, description=description, now=now)
