"""Work on attachments that outlives a request."""

from __future__ import annotations

from shopcool.attachments.sweeping import attachments_sweep
from shopcool.celery import app
from shopcool.core import clock


# Unknown keywords are accepted, so that an older worker understands a newer beat during an update.
@app.task(name="attachments.sweep", time_limit=3600)
def attachments_sweep_task(**_later: object) -> None:
    """Remove files that no row knows; may run twice."""
    attachments_sweep(now=clock.now())
