"""Who may do what with vehicles: one function per action."""

from __future__ import annotations

from shopcool.core.actors import Actor
from shopcool.people.policies import works_here


def may_see_vehicles(actor: Actor) -> bool:
    """Everybody who works here sees the vehicles."""
    return works_here(actor) or actor.is_system


def may_keep_vehicles(actor: Actor) -> bool:
    """Everybody who works here books vehicles in and keeps their plates, numbers and customers."""
    return works_here(actor) or actor.is_system


def may_change_circuit(actor: Actor) -> bool:
    """Technicians and owners read labels: what they enter decides which equipment may be connected."""
    return actor.is_technician or actor.is_owner or actor.is_system


def may_keep_codes(actor: Actor) -> bool:
    """Owners keep the tables of trouble codes: what stands there decides where a technician looks."""
    return actor.is_owner
