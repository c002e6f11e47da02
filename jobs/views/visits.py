"""A vehicle comes in, or does not come at all."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from jobs.forms.visits import CancelForm
from jobs.policies import may_cancel, may_check_in
from jobs.services.visits import job_cancel, job_check_in
from jobs.views.loading import job_for
from shopcool.core import clock
from shopcool.core.errors import DomainError
from shopcool.core.forms import add_domain_error


@require_POST
def check_in(request: HttpRequest, number: str) -> HttpResponse:
    """Take the vehicle into the workshop."""
    actor, job = job_for(request, number, may_check_in)
    try:
        job_check_in(actor=actor, job=job, now=clock.now())
    except DomainError as error:
        messages.error(request, error.message)
    return redirect("jobs:job", number=number)


@require_http_methods(["GET", "HEAD", "POST"])
def cancel(request: HttpRequest, number: str) -> HttpResponse:
    """Ask for the reason, then cancel the job."""
    actor, job = job_for(request, number, may_cancel)
    form = CancelForm(request.POST or None)
    if form.is_valid():
        try:
            job_cancel(actor=actor, job=job, now=clock.now(), **form.cleaned_data)
        except DomainError as error:
            add_domain_error(form, error)
        else:
            messages.success(request, _("%(job)s is cancelled.") % {"job": number})
            return redirect("jobs:today")
    status = 422 if form.is_bound else 200
    return render(request, "jobs/cancel.html", {"form": form, "job": job}, status=status)
