"""How the views of jobs obtain a job: 404 for outsiders, 403 for colleagues without the right."""

from __future__ import annotations

from django.http import HttpRequest

from jobs.models import Job
from jobs.selectors import jobs_visible_to
from shopcool.core.actors import Actor
from shopcool.core.loaders import Policy, load
from shopcool.people.requests import actor_of

IN_HAND = "job_in_hand"


def hold_in_hand(request: HttpRequest, number: str) -> None:
    """Remember which car this tablet is at, for the pieces that are scanned beside it."""
    if request.session.get(IN_HAND) != number:
        request.session[IN_HAND] = number


def in_hand(request: HttpRequest) -> str:
    """Return the number of the job that was last opened on this tablet, empty when none was."""
    return str(request.session.get(IN_HAND, ""))


def job_for(request: HttpRequest, number: str, policy: Policy) -> tuple[Actor, Job]:
    """Return who asks and the job with its vehicle, if the policy allows the action."""
    actor = actor_of(request)
    visible = jobs_visible_to(actor).select_related(None).select_related("circuit__vehicle__customer")
    return actor, load(visible, actor=actor, policy=policy, number=number)
