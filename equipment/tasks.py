"""Work of the equipment that outlives a request: each task calls one service."""

from __future__ import annotations

from typing import Any

from celery import Task

from equipment.services.digests import digest_send
from equipment.services.reminders import reminders_run
from shopcool.celery import app
from shopcool.core import clock

#: A message nobody took is worthless when the next run hands the same digest over again.
EXPIRES_S = 280


# Unknown keywords are accepted, so that an older worker understands a newer beat during an update.
@app.task(name="equipment.reminders_run", bind=True)
def reminders_run_task(self: Task[Any, Any], /, **_later: object) -> None:
    """Do the day's reminders if it is time and nobody has; may run twice or at once."""
    reminders_run(now=clock.now(), worker=str(self.request.hostname), deliver=hand_over)


@app.task(name="equipment.digest_send", time_limit=120)
def digest_send_task(*, digest_id: int, **_later: object) -> None:
    """Send one digest; may run twice, only one run sends it."""
    digest_send(digest_id=digest_id, now=clock.now())


def hand_over(digest_id: int) -> None:
    """Give a digest to the workers."""
    digest_send_task.apply_async(kwargs={"digest_id": digest_id}, expires=EXPIRES_S)
