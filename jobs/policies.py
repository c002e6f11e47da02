"""Who may do what with jobs: one function per action."""

from __future__ import annotations

from shopcool.core.actors import Actor


def may_see_jobs(actor: Actor) -> bool:
    """Every colleague sees every job of the workshop."""
    return actor.is_technician or actor.is_front_desk or actor.is_owner


def may_book(actor: Actor) -> bool:
    """Whoever meets the customer books the vehicle in."""
    return actor.is_technician or actor.is_front_desk or actor.is_owner


def may_check_in(actor: Actor) -> bool:
    """Whoever takes the key checks the vehicle in."""
    return actor.is_technician or actor.is_front_desk or actor.is_owner


def may_cancel(actor: Actor) -> bool:
    """Whoever may book may cancel, with a reason."""
    return actor.is_technician or actor.is_front_desk or actor.is_owner


def may_record_step(actor: Actor) -> bool:
    """Technicians record what they did and measured; an owner may, too."""
    return actor.is_technician or actor.is_owner


def may_correct_step(actor: Actor) -> bool:
    """Technicians correct records of an open job, with a reason."""
    return actor.is_technician or actor.is_owner


def may_correct_closed_job(actor: Actor) -> bool:
    """Only an owner corrects the record of a closed job."""
    return actor.is_owner


def may_close(actor: Actor) -> bool:
    """Who did the work closes the job; an owner may, too."""
    return actor.is_technician or actor.is_owner


def may_request_report(actor: Actor) -> bool:
    """Every colleague may have the report of a job made."""
    return actor.is_technician or actor.is_front_desk or actor.is_owner


def may_see_records(actor: Actor) -> bool:
    """The owner answers for the records of a period."""
    return actor.is_owner


def may_photograph(actor: Actor) -> bool:
    """Whoever meets the customer photographs the car as it came; who works on it, what they found."""
    return actor.is_technician or actor.is_front_desk or actor.is_owner
