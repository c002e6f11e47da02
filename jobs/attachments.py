"""Jobs and their step records as things that files are attached to, and who may do so."""

from __future__ import annotations

from django.urls import reverse

from jobs.choices import StepKind
from jobs.models import Job, StepRecord
from jobs.policies import may_photograph, may_record_step, may_see_jobs
from shopcool.attachments.parents import Parent, ParentKind, row_number
from shopcool.core.actors import Actor

JOB, STEP = "job", "step"


def job_parent(job: Job) -> Parent:
    """Return a job, loaded with its vehicle."""
    name = f"{job.number}, {job.circuit.vehicle}"
    return Parent(JOB, job.number, name, reverse("jobs:job", args=[job.number]))


def step_parent(record: StepRecord, job: Job) -> Parent:
    """Return what was recorded in one step of a job."""
    name = f"{job.number}: {StepKind(record.kind).label}"
    url = f"{reverse('jobs:job', args=[job.number])}#record-{record.pk}"
    return Parent(STEP, str(record.pk), name, url)


def _job(actor: Actor, key: str) -> Parent | None:
    rows = Job.objects.select_related("circuit__vehicle").filter(number=key)
    found = rows.first() if may_see_jobs(actor) else None
    return job_parent(found) if found else None


def _step(actor: Actor, key: str) -> Parent | None:
    rows = StepRecord.objects.select_related("job").filter(pk=row_number(key))
    found = rows.first() if may_see_jobs(actor) else None
    return step_parent(found, found.job) if found else None


KINDS = (
    ParentKind(JOB, find=_job, may_add=may_photograph),
    ParentKind(STEP, find=_step, may_add=may_record_step),
)
