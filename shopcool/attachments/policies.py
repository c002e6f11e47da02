"""Who may do what with an attachment, beyond what may be done with the thing it belongs to."""

from __future__ import annotations

from shopcool.attachments.models import Attachment
from shopcool.core.actors import Actor


def may_withdraw(actor: Actor, attachment: Attachment) -> bool:
    """Whoever attached a file takes it back, and an owner takes back any."""
    is_own = actor.user_id is not None and actor.user_id == attachment.recorded_by_id
    return actor.is_owner or is_own


def may_see_withdrawn(actor: Actor) -> bool:
    """Only an owner still sees what was withdrawn."""
    return actor.is_owner
