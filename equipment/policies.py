"""Who may do what with the equipment: one function per action."""

from __future__ import annotations

from shopcool.core.actors import Actor


def may_see_equipment(actor: Actor) -> bool:
    """Every colleague sees the readiness board and the life of each piece."""
    return actor.is_technician or actor.is_front_desk or actor.is_owner


def may_connect(actor: Actor) -> bool:
    """Technicians connect pieces to vehicles; an owner may, too."""
    return actor.is_technician or actor.is_owner


def may_record_exposure(actor: Actor) -> bool:
    """Technicians and owners record what a piece touched."""
    return actor.is_technician or actor.is_owner or actor.is_system


def may_record_purge(actor: Actor) -> bool:
    """Technicians and owners record line purges."""
    return actor.is_technician or actor.is_owner


def may_put_out_of_service(actor: Actor) -> bool:
    """Whoever sees a danger may take a piece out of service."""
    return actor.is_technician or actor.is_front_desk or actor.is_owner


def may_return_to_service(actor: Actor) -> bool:
    """Only a named owner returns a piece to service."""
    return actor.is_owner


def may_withdraw_exposure(actor: Actor) -> bool:
    """Only an owner withdraws an entry, since it may make a piece look cleaner than it is."""
    return actor.is_owner or actor.is_system


def may_inspect(actor: Actor) -> bool:
    """Only an owner documents an inspection that says what is inside a piece."""
    return actor.is_owner


def may_override(actor: Actor) -> bool:
    """Only an owner connects against a refusal, with a written reason."""
    return actor.is_owner


def may_see_incidents(actor: Actor) -> bool:
    """Incidents concern everyone who works with the equipment."""
    return actor.is_technician or actor.is_owner


def may_close_incident(actor: Actor) -> bool:
    """Only an owner closes an incident, saying what was done."""
    return actor.is_owner


def may_print_labels(actor: Actor) -> bool:
    """Whoever handles the pieces prints their labels."""
    return actor.is_technician or actor.is_owner


def may_manage_equipment(actor: Actor) -> bool:
    """Only an owner registers pieces and their documents."""
    return actor.is_owner


def may_move_refrigerant(actor: Actor) -> bool:
    """Technicians and owners move refrigerant between vehicles, machines and cylinders."""
    return actor.is_technician or actor.is_owner


def may_see_log(actor: Actor) -> bool:
    """Only an owner reads and exports the log of all equipment: it tells what each person did."""
    return actor.is_owner


def may_manage_walls(actor: Actor) -> bool:
    """Only an owner lets a display show the board without anybody signed in."""
    return actor.is_owner


def may_snooze(actor: Actor, recipient_id: int) -> bool:
    """Everybody puts their own reminders aside, nobody those of a colleague."""
    return actor.user_id == recipient_id


def may_see_runs(actor: Actor) -> bool:
    """Only an owner sees whether the daily reminders are written and which e-mails are not out."""
    return actor.is_owner


def may_handle_oil(actor: Actor) -> bool:
    """Technicians and owners receive oil, fill injectors, and book what is used, wasted or found bad."""
    return actor.is_technician or actor.is_owner


def may_photograph(actor: Actor) -> bool:
    """Whoever may take a piece out of service for what they see may show it as well."""
    return may_put_out_of_service(actor)
