"""What earlier visits of the same circuit left on record."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from functools import cached_property

from jobs.choices import JobStatus, StepKind
from jobs.models import Job, StepRecord
from jobs.steps.answers import Answer
from jobs.steps.context import Past
from jobs.steps.values import Values

#: The steps whose numbers a later visit compares with its own.
COMPARED = (
    StepKind.OIL_BOTTLE,
    StepKind.READINGS_BEFORE,
    StepKind.INSULATION,
    StepKind.RECOVERY,
    StepKind.PARTS,
    StepKind.EVACUATION,
    StepKind.OIL,
    StepKind.CHARGE,
    StepKind.READINGS_AFTER,
    StepKind.LEAK_CHECK,
)


class EarlierVisits:
    """The records of earlier visits, oldest first, read once when a rule first asks for them."""

    def __init__(self, job: Job, *, before: datetime) -> None:
        self._job = job
        self._before = before

    def __iter__(self) -> Iterator[Past]:
        """Return the standing records of earlier jobs of the same circuit, cancelled ones included."""
        return iter(self._records)

    @cached_property
    def _records(self) -> list[Past]:
        rows = StepRecord.objects.filter(
            job__circuit=self._job.circuit_id,
            job__status__in=[JobStatus.CLOSED, JobStatus.CANCELLED],
            kind__in=COMPARED,
            corrected_by=None,
            occurred_at__lt=self._before,
        ).exclude(job=self._job)
        return [
            Past(
                StepKind(row.kind),
                row.occurred_at,
                row.job.number,
                Values(row.values),
                Answer.from_record(row.answer),
            )
            for row in rows.select_related("job").order_by("occurred_at", "pk")
        ]
