"""Append a step record to the chain of its job, once per key."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from jobs.choices import StepKind
from jobs.errors import KeyReused
from jobs.models import Job, StepRecord
from jobs.procedure import RULES_VERSION as PROCEDURE_VERSION
from jobs.steps.answers import Answer
from jobs.steps.fields import FieldSpec
from jobs.steps.registry import RULES_VERSION as STEPS_VERSION
from jobs.steps.values import Values
from shopcool.core.actors import Actor
from shopcool.core.records import append

RULES_VERSION = f"{PROCEDURE_VERSION} {STEPS_VERSION}".replace("procedure-", "p").replace("steps-", "s")


@dataclass(frozen=True)
class Sending:
    """One sending of a form: its key and the digest of everything that was typed."""

    key: UUID | None = None
    digest: str = ""


def sending(key: UUID, fields: Sequence[FieldSpec], raw: Mapping[str, Any], **more: object) -> Sending:
    """Return the identity of a sent form; only the step's own fields count, not the door's extras."""
    names = [f"{spec.name}{end}" for spec in fields for end in ("", "_unit", "_basis", "_source")]
    typed = {name: raw[name] for name in names if raw.get(name) not in (None, "")}
    text = json.dumps([typed, more], sort_keys=True, default=str)
    return Sending(key, hashlib.sha256(text.encode()).hexdigest())


def sent_before(sent: Sending, job: Job, kind: StepKind) -> StepRecord | None:
    """Return the record that an earlier sending of the same form made.

    Raises KeyReused when the key came with other input, or for another job or step.
    """
    found = StepRecord.objects.filter(idempotency_key=sent.key).first()
    if found is None:
        return None
    if (found.job_id, found.kind, found.input_digest) != (job.pk, kind, sent.digest):
        raise KeyReused
    return found


def step_append(
    job: Job,
    kind: StepKind,
    values: Values,
    answer: Answer,
    *,
    actor: Actor,
    now: datetime,
    occurred_at: datetime | None = None,
    note: str = "",
    sent: Sending = Sending(),
    corrects: StepRecord | None = None,
    correction_reason: str = "",
) -> StepRecord:
    """Append one record; the caller has checked right, order and values."""
    record = StepRecord(
        job=job,
        kind=kind,
        values=values.as_record(),
        answer=answer.as_record(),
        note=note.strip(),
        occurred_at=occurred_at or now,
        corrects=corrects,
        correction_reason=correction_reason.strip(),
        idempotency_key=sent.key,
        input_digest=sent.digest,
        rules_version=RULES_VERSION,
    )
    return append(record, stream=f"step:{job.number}", actor=actor, now=now)
