"""The record of a job, put together."""

from __future__ import annotations

from zoneinfo import ZoneInfo

from django.utils import timezone
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from jobs.choices import JobStatus
from jobs.models import Job
from jobs.reports.attachments import attachments_section
from jobs.reports.clearances import clearances_section, override_alerts
from jobs.reports.closing import (
    about_section,
    cautions_section,
    ending_section,
    head_hash,
    incident_alerts,
    incidents_section,
)
from jobs.reports.customer import customer_section
from jobs.reports.equipment import connections_section, purges_section
from jobs.reports.gathering import Gathered
from jobs.reports.people import people_section
from jobs.reports.steps import balance_section, readings_section, steps_section
from jobs.reports.vehicle import visit_section
from jobs.reports.words import SHOWN_OF_HASH, moment_words
from shopcool.core.documents import Document, Head, Section
from shopcool.shop.models import Jurisdiction, Shop


def job_document(gathered: Gathered, *, requested_by: str) -> Document:
    """Return the record of a job, its times as the workshop's clock shows them; reads nothing more."""
    with timezone.override(ZoneInfo(gathered.shop.time_zone)):
        return Document(
            language=(get_language() or "en").split("-")[0],
            paper="us-letter" if gathered.shop.jurisdiction == Jurisdiction.US else "a4",
            title=_("Record of job %(number)s") % {"number": gathered.job.number},
            head=_head(gathered),
            alerts=(*override_alerts(gathered), *incident_alerts(gathered)),
            sections=tuple(_sections(gathered, requested_by)),
            page_of=_("Page {page} of {pages}"),
        )


def _sections(gathered: Gathered, requested_by: str) -> list[Section]:
    found: list[Section | None] = [
        visit_section(gathered),
        readings_section(gathered),
        balance_section(gathered),
        people_section(gathered),
        clearances_section(gathered),
        connections_section(gathered),
        purges_section(gathered),
        steps_section(gathered),
        incidents_section(gathered),
        attachments_section(gathered),
        ending_section(gathered),
        cautions_section(gathered),
        about_section(gathered, requested_by),
        customer_section(gathered),
    ]
    return [section for section in found if section is not None]


def _head(gathered: Gathered) -> Head:
    job, shop = gathered.job, gathered.shop
    vehicle = job.circuit.vehicle
    year = f" ({vehicle.model_year})" if vehicle.model_year else ""
    return Head(
        workshop=shop.name,
        address=_address(shop),
        kind=_("Record of work on an air-conditioning circuit"),
        number=job.number,
        name=vehicle.registration,
        name_note=f"{vehicle.make} {vehicle.model}{year}",
        state=_state(job, moment_words(gathered.now)),
        running=f"{job.number} · {vehicle.registration}",
        made=_made(gathered),
    )


def _made(gathered: Gathered) -> str:
    chain = head_hash(gathered)[:SHOWN_OF_HASH]
    made = _("Made %(moment)s") % {"moment": moment_words(gathered.now)}
    return f"{made} · {_('chain %(hash)s…') % {'hash': chain}}" if chain else made


def _address(shop: Shop) -> tuple[str, ...]:
    return tuple(line.strip() for line in shop.address.splitlines() if line.strip())


def _state(job: Job, now: str) -> str:
    if job.status == JobStatus.CLOSED and job.closed_at:
        return _("This job is closed: %(moment)s.") % {"moment": moment_words(job.closed_at)}
    if job.status == JobStatus.CANCELLED:
        return _("This job was cancelled.")
    return _("This job is not closed. The record shows it as it stood on %(moment)s.") % {"moment": now}
