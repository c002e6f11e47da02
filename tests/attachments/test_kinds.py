"""Everything that takes attachments lets in who may see it, and lets add who may work on it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from equipment.attachments import document_parent, incident_parent, lot_parent, piece_parent, work_parent
from equipment.incidents import Incident
from equipment.maintenance.choices import IntervalSource, Work, WorkOutcome
from equipment.maintenance.plans import PlanDescription, plan_add
from equipment.maintenance.rules import Interval
from equipment.maintenance.work import WorkDone, work_record
from equipment.models import Piece
from jobs.attachments import job_parent, step_parent
from jobs.choices import StepKind
from shopcool.attachments.parents import Parent
from shopcool.core.actors import Role
from shopcool.people.models import User
from tests.attachments.files import photo
from tests.equipment.workshop import Workshop, make_user
from tests.jobs.bay import Bay
from tests.people_fixtures import SignedIn

PLAN = PlanDescription(Work.FILTER_DRIER, Interval(months=12), IntervalSource.SHOP_POLICY)
#: Outsider, front desk, technician, owner: what they get when they look, and when they attach something.
EVERYBODY_ADDS = [404, 200, 200, 200], [404, 302, 302, 302]
WORKERS_ADD = [404, 200, 200, 200], [404, 403, 302, 302]
OWNERS_ADD = [404, 200, 200, 200], [404, 403, 403, 302]
WORKERS_ONLY = [404, 404, 200, 200], [404, 404, 302, 302]


def things(bay: Bay) -> dict[str, tuple[Parent, tuple[list[int], list[int]]]]:
    """Return one thing of every kind with how it answers."""
    workshop, job = bay.workshop, bay.job
    plan = plan_add(
        actor=workshop.owner, piece=bay.machine, now=workshop.now,
        description=replace(PLAN, starts_on=date(2026, 1, 5)),
    )  # fmt: skip
    work = work_record(
        actor=workshop.technician, plan=plan, submission_key=uuid4(), now=workshop.later(),
        work=WorkDone(workshop.now.date(), WorkOutcome.NOT_JUDGED),
    )  # fmt: skip
    paper = bay.machine.documents.select_related("piece").latest("pk")
    record = bay.checked_in().record(StepKind.LABEL)
    return {
        "piece": (piece_parent(bay.machine), EVERYBODY_ADDS),
        "work": (work_parent(work), WORKERS_ADD),
        "document": (document_parent(paper), OWNERS_ADD),
        "incident": (incident_parent(_incident(workshop)), WORKERS_ONLY),
        "oil-lot": (lot_parent(workshop.lot()), WORKERS_ADD),
        "job": (job_parent(job), EVERYBODY_ADDS),
        "step": (step_parent(record, job), WORKERS_ADD),
    }


def _incident(workshop: Workshop) -> Incident:
    unknown: Piece = workshop.piece("X-1")
    workshop.connect(workshop.circuit(), unknown, job="J-X", actor=workshop.owner, override_reason="Scrapped")
    return Incident.objects.get()


@pytest.mark.django_db
def test_rights_to_see_and_to_add(signed_in: SignedIn) -> None:
    bay = Bay(Workshop())
    users = [
        make_user("otto", qualified=False),
        make_user("fria", Role.FRONT_DESK, qualified=False),
        *User.objects.filter(username__in=("tilda", "orla")).order_by("-username"),
    ]
    browsers = [signed_in(user) for user in users]

    for kind, (parent, expected) in things(bay).items():
        page, caption = reverse("attachments:of", args=[kind, parent.key]), f"Seen at the {kind}"
        looked = [browser.get(page).status_code for browser in browsers]
        added = []
        for browser in browsers:
            file = SimpleUploadedFile("a.jpg", photo())
            sent = {"chosen": file, "submission_key": uuid4(), "caption": caption}
            added.append(browser.post(page, sent).status_code)
        assert (kind, looked, added) == (kind, *expected)
        shown = browsers[-1].get(parent.url)
        assert shown.content.decode().count(caption) == added.count(302), kind
