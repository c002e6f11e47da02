"""Every write to a job begins by locking its row, so that two tablets take turns."""

from __future__ import annotations

from jobs.models import Job


def lock_job(job: Job) -> Job:
    """Return the job as it is now, locked until the transaction ends, with circuit and vehicle."""
    return Job.objects.select_for_update(of=("self",)).select_related("circuit__vehicle").get(pk=job.pk)
