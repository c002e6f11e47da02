"""Who may do what with the people of the workshop: one function per action."""

from __future__ import annotations

from shopcool.core.actors import Actor


def works_here(actor: Actor) -> bool:
    """Whether the person has any role; whoever has none sees nothing but their own page."""
    return bool(actor.roles)


def may_manage_people(actor: Actor) -> bool:
    """Only an owner adds people, gives roles and keeps competences; the first owner comes from a command."""
    return actor.is_owner or actor.is_system


def may_see_person(actor: Actor, user_id: int) -> bool:
    """An owner sees everybody's page; everybody sees their own."""
    return actor.is_owner or actor.user_id == user_id


def may_set_password(actor: Actor, user_id: int) -> bool:
    """An owner sets anybody's password; everybody sets their own."""
    return may_manage_people(actor) or actor.user_id == user_id


def may_set_email(actor: Actor, user_id: int) -> bool:
    """Whoever works here says where their own e-mail goes; an owner changes it with the person."""
    return works_here(actor) and actor.user_id == user_id


def may_choose_units(actor: Actor, user_id: int) -> bool:
    """Everybody chooses their own units, nobody those of a colleague."""
    return actor.user_id == user_id


def may_change_person(actor: Actor) -> bool:
    """Whoever is signed in may hand a shared tablet to a colleague."""
    return actor.user_id is not None


def may_have_calendar(actor: Actor, user_id: int) -> bool:
    """Whoever works here makes and ends the secret address of their own calendar, nobody a colleague's."""
    return works_here(actor) and actor.user_id == user_id
