"""The pages of the steps: fill in, see what it means, put on record, correct."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from jobs.attachments import step_parent
from jobs.choices import StepKind
from jobs.forms.steps import CorrectionForm, StepForm
from jobs.models import Job, StepRecord
from jobs.pages.answers import AnswerShown
from jobs.pages.live import answer_of_correction, answer_of_step
from jobs.pages.step import correction_page, step_page
from jobs.pages.steps import form_of
from jobs.policies import may_correct_step, may_record_step, may_see_jobs
from jobs.services.closing import job_close
from jobs.services.steps import step_correct, step_record
from jobs.situation import Situation, situation_of
from jobs.steps.registry import step_of
from jobs.views.loading import job_for
from jobs.views.units import remember_units, units_of
from shopcool.attachments.gallery import parent_address
from shopcool.core import clock
from shopcool.core.actors import Actor
from shopcool.core.errors import DomainError
from shopcool.shop.selectors import shop_of

GET_OR_POST = ["GET", "HEAD", "POST"]


@require_http_methods(GET_OR_POST)
def step(request: HttpRequest, number: str, kind: StepKind) -> HttpResponse:
    """Show a step; answer what was typed, or put it on record."""
    actor, job = job_for(request, number, may_record_step if request.method == "POST" else may_see_jobs)
    situation = situation_of(job, now=clock.now(), units=actor.units, shop=shop_of(request))
    form = form_of(situation, kind, units_of(request), request.POST or None, offered=request.GET.dict())
    if form is None or not form.is_bound:
        return _step_page(request, actor, situation, kind, form)
    if "check" in request.POST:
        answer = answer_of_step(actor=actor, situation=situation, kind=kind, form=form, now=clock.now())
        return _answered(request, answer) or _step_page(request, actor, situation, kind, form, answer)
    following = _recorded(request, actor, job, kind, form) if form.is_valid() else ""
    return redirect(following) if following else _step_page(request, actor, situation, kind, form)


@require_http_methods(GET_OR_POST)
def correct(request: HttpRequest, number: str, record_id: int) -> HttpResponse:
    """Correct a record with a reason; both stay."""
    actor, job = job_for(request, number, may_correct_step)
    record = get_object_or_404(job.records.filter(corrected_by=None), pk=record_id)
    situation = situation_of(job, now=clock.now(), without=record, units=actor.units, shop=shop_of(request))
    fields = step_of(record.kind).fields_at_hand(situation.context)
    form = CorrectionForm(fields, situation.context, request.POST or None, values=record.values)
    if "check" in request.POST:
        answer = answer_of_correction(situation, StepKind(record.kind), form)
        return _answered(request, answer) or _correction_page(request, actor, situation, record, form, answer)
    if form.is_bound and form.is_valid() and _corrected(request, actor, record, form):
        return redirect("jobs:job", number=number)
    return _correction_page(request, actor, situation, record, form)


def _recorded(request: HttpRequest, actor: Actor, job: Job, kind: StepKind, form: StepForm) -> str:
    """Put the step on record and return where to go then; empty for a refusal, which goes onto the form."""
    now, back = clock.now(), reverse("jobs:job", args=[job.number])
    try:
        if kind is StepKind.CLOSE_OUT:
            job_close(actor=actor, job=job, raw=form.raw, idempotency_key=form.key, now=now)
            messages.success(request, _("%(job)s is closed.") % {"job": job.number})
            return back
        record = step_record(
            actor=actor,
            job=job,
            kind=kind,
            raw=form.raw,
            seen=form.seen_before,
            note=form.cleaned_data["form_note"],
            occurred_at=form.cleaned_data["form_time"],
            idempotency_key=form.key,
            now=now,
        )
    except DomainError as error:
        form.refuse(error)
        return ""
    remember_units(request, record)
    messages.success(request, _("On record: %(step)s.") % {"step": kind.label})
    return parent_address(step_parent(record, job)) if "attach" in request.POST else back


def _corrected(request: HttpRequest, actor: Actor, record: StepRecord, form: CorrectionForm) -> bool:
    """Put the correction on record; a refusal goes onto the form."""
    try:
        step_correct(
            actor=actor,
            record=record,
            raw=form.raw,
            reason=form.cleaned_data["form_reason"],
            note=form.cleaned_data["form_note"],
            idempotency_key=form.key,
            now=clock.now(),
        )
    except DomainError as error:
        form.refuse(error)
        return False
    messages.success(request, _("Corrected: %(step)s.") % {"step": record.get_kind_display()})
    return True


def _answered(request: HttpRequest, answer: AnswerShown) -> HttpResponse | None:
    """Return the fragment that a page renews by itself, None when the whole page was asked for."""
    if not request.htmx:  # type: ignore[attr-defined]
        return None
    return render(request, "jobs/_answer.html", {"answer": answer})


def _step_page(
    request: HttpRequest,
    actor: Actor,
    situation: Situation,
    kind: StepKind,
    form: StepForm | None,
    answer: AnswerShown | None = None,
) -> HttpResponse:
    page = step_page(
        actor=actor,
        situation=situation,
        kind=kind,
        form=form,
        answer=answer,
        now=clock.now(),
    )
    status = form.status if form and not answer else 200
    return render(request, "jobs/step.html", {"page": page, "job": situation.job}, status=status)


def _correction_page(
    request: HttpRequest,
    actor: Actor,
    situation: Situation,
    record: StepRecord,
    form: CorrectionForm,
    answer: AnswerShown | None = None,
) -> HttpResponse:
    page = correction_page(actor=actor, situation=situation, record=record, form=form, answer=answer)
    status = 200 if answer else form.status
    return render(request, "jobs/correct.html", {"page": page, "job": situation.job}, status=status)
