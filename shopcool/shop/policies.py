"""Who may do what with the workshop's settings."""

from __future__ import annotations

from shopcool.core.actors import Actor


def may_change_shop(actor: Actor) -> bool:
    """Only an owner sets the name, the place, the units and the policies that rules read."""
    return actor.is_owner or actor.is_system
