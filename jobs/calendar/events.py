"""The events of a calendar: due things as whole days, visits as moments. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime
from hashlib import sha256

from django.utils.translation import gettext as _

from equipment.due import DueItem, refusal_words
from jobs.models import Job


@dataclass(frozen=True)
class Event:
    """One event: ``start`` is a whole day, or a moment in UTC; ``key`` names it for as long as it exists."""

    key: str
    start: date | datetime
    title: str
    text: str = ""
    place: str = ""
    url: str = ""

    @property
    def digest(self) -> str:
        """The fingerprint of what is said, by which a change is noticed; addresses of pages are left out."""
        said = "\n".join([self.key, self.start.isoformat(), self.title, self.text, self.place])
        return sha256(said.encode()).hexdigest()


def due_event(item: DueItem, *, url: str) -> Event:
    """Return a due thing as a whole day. Its day is part of its name: a later day is another event."""
    refused = refusal_words(
        blocks=item.blocks, is_person=item.user_id is not None, is_lot=bool(item.lot_code)
    )
    return Event(
        key=f"due:{item.key}:{item.due_on.isoformat()}",
        start=item.due_on,
        title=_("Due: %(what)s") % {"what": item.what},
        text=_("Without it %(refused)s.") % {"refused": refused} if refused else "",
        url=url,
    )


def visit_event(job: Job, *, url: str) -> Event:
    """Return the moment a car is booked for; ``job.circuit.vehicle`` should be loaded.

    A feed leaves the workshop: it names the car and the work, never the customer or the VIN.
    """
    return Event(
        key=f"job:{job.number}",
        start=job.booked_for.astimezone(UTC),
        title=f"{job.circuit.vehicle}: {job.get_service_display()}",
        text=_("Job %(number)s") % {"number": job.number},
        place=job.bay,
        url=url,
    )
