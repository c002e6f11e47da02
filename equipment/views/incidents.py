"""Incidents and overrides: what has to be followed up."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from equipment.attachments import incident_parent
from equipment.forms.incidents import ClosingForm
from equipment.pages.follow_up import incident_page, incident_rows, override_rows
from equipment.policies import may_close_incident, may_see_incidents
from equipment.selectors import incidents_visible_to
from equipment.services.incidents import incident_close
from equipment.views.doors import GET_OR_POST, attempt, colleague, posted, status_of
from shopcool.attachments.gallery import gallery
from shopcool.core import clock
from shopcool.core.loaders import load


@require_safe
def incidents(request: HttpRequest) -> HttpResponse:
    """List the incidents, open ones first."""
    rows, page = incident_rows(colleague(request, may_see_incidents), request.GET.get("page", "1"))
    return render(request, "equipment/incidents.html", {"rows": rows, "page": page})


@require_http_methods(GET_OR_POST)
def incident(request: HttpRequest, incident_id: int) -> HttpResponse:
    """Show an incident with everything that led to it; an owner closes it here."""
    policy = may_close_incident if request.method == "POST" else may_see_incidents
    actor = colleague(request, policy)
    found = load(incidents_visible_to(actor), actor=actor, policy=policy, pk=incident_id)
    form = ClosingForm(posted(request))
    closed = attempt(
        form, lambda: incident_close(actor=actor, incident=found, now=clock.now(), **form.cleaned_data)
    )
    if closed is not None:
        messages.success(request, _("The incident is closed."))
        return redirect("equipment:incident", incident_id=closed.pk)
    context = {
        "page": incident_page(found),
        "form": form,
        "may_close": may_close_incident(actor),
        "gallery": gallery(actor, incident_parent(found)),
    }
    return render(request, "equipment/incident.html", context, status=status_of(form))


@require_safe
def overrides(request: HttpRequest) -> HttpResponse:
    """List the connections made on an owner's responsibility."""
    rows, page = override_rows(colleague(request, may_see_incidents), request.GET.get("page", "1"))
    return render(request, "equipment/overrides.html", {"rows": rows, "page": page})
