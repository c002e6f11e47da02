"""Put pieces on the vehicle of a job and take them off: the clearance decides, the job keeps the record."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime

from django.db import transaction

from equipment.models import Connection
from equipment.policies import may_connect
from equipment.readiness import Decision
from equipment.services.connecting import (
    ConnectionOutcome,
    clearance_check,
    pieces_connect,
    pieces_disconnect,
)
from jobs.choices import StepKind
from jobs.errors import StepBlocked
from jobs.models import Job
from jobs.procedure.blockers import blockers
from jobs.services.appending import step_append
from jobs.services.locking import lock_job
from jobs.situation import Situation, situation_of
from jobs.steps.registry import step_of
from jobs.steps.values import Values
from shopcool.core.actors import Actor
from shopcool.core.errors import require


def job_clearance(*, actor: Actor, job: Job, piece_ids: Sequence[int], now: datetime) -> Decision:
    """Return what a clearance would say now, recording nothing."""
    job = Job.objects.select_related("circuit__vehicle").get(pk=job.pk)
    visit = situation_of(job, now=now).visit
    return clearance_check(actor=actor, circuit=job.circuit, piece_ids=piece_ids, visit=visit, now=now)


@transaction.atomic
def job_connect(
    *, actor: Actor, job: Job, piece_ids: Sequence[int], now: datetime, override_reason: str = ""
) -> ConnectionOutcome:
    """Ask for clearance and connect the pieces if it permits; a refusal is recorded and returned.

    With ``override_reason`` an owner connects against a refusal. Raises NotAllowed, StepBlocked when the
    procedure is not that far, PieceBusy with the name of the job that has the piece, and UnknownPiece.
    """
    require(may_connect(actor))
    job = lock_job(job)
    situation = situation_of(job, now=now)
    _refuse_blocked(situation, StepKind.CONNECTION)
    outcome = pieces_connect(
        actor=actor,
        circuit=job.circuit,
        piece_ids=piece_ids,
        visit=situation.visit,
        now=now,
        override_reason=override_reason,
    )
    if outcome.connected:
        values = {
            "pieces": _codes(outcome.connections),
            "clearance": f"{job.number}/{outcome.clearance.sequence}",
        }
        if outcome.clearance.override_reason:
            values["override_reason"] = outcome.clearance.override_reason
        _append(situation, StepKind.CONNECTION, values, actor, now)
    return outcome


@transaction.atomic
def job_disconnect(
    *, actor: Actor, job: Job, now: datetime, piece_ids: Sequence[int] | None = None
) -> tuple[Connection, ...]:
    """Take pieces, all of them when none are named, off the vehicle.

    Raises NotAllowed, and StepBlocked when nothing is on the vehicle.
    """
    require(may_connect(actor))
    job = lock_job(job)
    situation = situation_of(job, now=now)
    _refuse_blocked(situation, StepKind.DISCONNECTION)
    ended = pieces_disconnect(actor=actor, job_number=job.number, piece_ids=piece_ids, now=now)
    if ended:
        _append(situation, StepKind.DISCONNECTION, {"pieces": _codes(ended)}, actor, now)
    return ended


def _refuse_blocked(situation: Situation, kind: StepKind) -> None:
    reasons = blockers(kind, situation.case)
    if reasons:
        raise StepBlocked(reasons)


def _append(
    situation: Situation, kind: StepKind, stored: dict[str, str], actor: Actor, now: datetime
) -> None:
    values = Values(stored)
    answer = step_of(kind).judged(values, situation.context)
    step_append(situation.job, kind, values, answer, actor=actor, now=now)


def _codes(connections: Iterable[Connection]) -> str:
    return ", ".join(sorted(connection.piece.code for connection in connections))
