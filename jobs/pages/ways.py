"""The ways out: where a blocked step, a refusal or a due purge can be put right."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any
from urllib.parse import urlencode

from django.urls import reverse
from django.utils.translation import gettext as _

from jobs.choices import StepKind
from jobs.models import Job
from jobs.procedure import Blocker

#: Blockers that the data of the vehicle clears.
_LABEL_DATA = frozenset(
    {"label_mismatch", "refrigerant_unknown", "lubricant_unknown", "label_charge_unknown"}
)
#: Refusals of a clearance that the data of the vehicle, or a step of this job, clears.
_CIRCUIT_DATA = frozenset({"circuit_refrigerant_unknown", "circuit_lubricant_unknown"})
_STEPS = {
    "identification_not_done": StepKind.IDENTIFICATION,
    "oil_bottle_not_read": StepKind.OIL_BOTTLE,
}


@dataclass(frozen=True)
class Way:
    """A way out: the words of its button and where it leads."""

    label: str
    url: str


def job_url(number: str) -> str:
    """Return the page of a job."""
    return reverse("jobs:job", args=[number])


@lru_cache(maxsize=2048)
def step_url(number: str, kind: StepKind) -> str:
    """Return where a step of a job is done."""
    if kind is StepKind.CONNECTION:
        return reverse("jobs:clearance", args=[number])
    return reverse("jobs:step", args=[number, kind])


def label_url(job: Job) -> str:
    """Return where the label data of the job's circuit is entered."""
    return reverse("vehicles:circuit_edit", args=[job.circuit_id])


def purge_url(job_number: str, piece_ids: Iterable[int], machine_id: int | None = None) -> str:
    """Return the entry of a line purge with machine, pieces and job filled in."""
    query: list[tuple[str, Any]] = [("machine", machine_id)] if machine_id else []
    query += [("pieces", piece_id) for piece_id in piece_ids]
    query.append(("job", job_number))
    return f"{reverse('equipment:purge')}?{urlencode(query)}"


def way_of(blocker: Blocker, job: Job) -> Way | None:
    """Return the way out of what blocks a step, None when only the sentence helps."""
    if blocker.code in _LABEL_DATA:
        return Way(_("Enter the label data"), label_url(job))
    if blocker.step is not None:
        return Way(str(blocker.step.label), step_url(job.number, blocker.step))
    return None


def visit_url(code: str, job: Job) -> str:
    """Return where a refusal that concerns the whole visit is put right, empty when nowhere."""
    if code in _CIRCUIT_DATA:
        return label_url(job)
    step = _STEPS.get(code)
    return step_url(job.number, step) if step else ""
