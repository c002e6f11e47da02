"""The list of reminders, and putting one aside."""

from __future__ import annotations

from datetime import timedelta

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from equipment.forms.reminders import SnoozeForm
from equipment.links import calendar_url
from equipment.pages.reminders import reminder_line, reminders_page
from equipment.policies import may_snooze
from equipment.reminders.days import local_day
from equipment.reminders.models import Reminder
from equipment.reminders.selectors import reminders_visible_to
from equipment.reminders.snoozing import last_day_aside
from equipment.services.snoozes import reminder_snooze, reminder_unsnooze
from equipment.views.doors import GET_OR_POST, attempt, colleague, posted, status_of
from shopcool.core import clock
from shopcool.core.actors import Actor
from shopcool.core.errors import require
from shopcool.core.loaders import load
from shopcool.shop.selectors import shop_of

#: What most people mean by "not now".
USUAL_PAUSE = timedelta(days=7)


@require_safe
def reminders(request: HttpRequest) -> HttpResponse:
    """Show what the person has to think of."""
    number = request.GET.get("page", "1")
    page = reminders_page(actor=colleague(request), shop=shop_of(request), now=clock.now(), number=number)
    return render(request, "equipment/reminders.html", {"page": page, "calendar_url": calendar_url()})


@require_http_methods(GET_OR_POST)
def snooze(request: HttpRequest, reminder_id: int) -> HttpResponse:
    """Ask until when and why, then put a reminder aside."""
    actor, now = colleague(request), clock.now()
    reminder, today = _own(actor, reminder_id), local_day(now, shop_of(request).time_zone)
    last = last_day_aside(due_on=reminder.due_on, blocks=reminder.blocks, today=today)
    usual = min(today + USUAL_PAUSE, last) if last else None
    form = SnoozeForm(posted(request), initial={"until": usual})
    done = attempt(
        form, lambda: reminder_snooze(actor=actor, reminder=reminder, now=now, **form.cleaned_data)
    )
    if done is not None:
        messages.success(request, _("Put aside. It comes back on the day you chose."))
        return redirect("equipment:reminders")
    context = {"form": form, "line": reminder_line(reminder, today), "last": last}
    return render(request, "equipment/reminder_snooze.html", context, status=status_of(form))


@require_POST
def unsnooze(request: HttpRequest, reminder_id: int) -> HttpResponse:
    """Take a reminder up again."""
    actor = colleague(request)
    reminder_unsnooze(actor=actor, reminder=_own(actor, reminder_id), now=clock.now())
    return redirect("equipment:reminders")


def _own(actor: Actor, reminder_id: int) -> Reminder:
    """Return one's own reminder: 404 for what is not one's to see, 403 for an owner looking at another's."""
    found = load(reminders_visible_to(actor), actor=actor, policy=lambda who: True, pk=reminder_id)
    require(may_snooze(actor, found.recipient_id))
    return found
