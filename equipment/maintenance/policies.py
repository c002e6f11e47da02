"""Who plans and who records maintenance: one function per action."""

from __future__ import annotations

from shopcool.core.actors import Actor


def may_plan_maintenance(actor: Actor) -> bool:
    """Only an owner decides what a piece needs and how often."""
    return actor.is_owner


def may_record_maintenance(actor: Actor) -> bool:
    """Technicians and owners record the work they did."""
    return actor.is_technician or actor.is_owner


def may_correct_maintenance(actor: Actor) -> bool:
    """Only an owner corrects a record of work, since it may make a piece look better than it is."""
    return actor.is_owner
