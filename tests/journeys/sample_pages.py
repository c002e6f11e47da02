"""Small pages that show one behaviour each, so that a browser can try it; used by test_behaviours only."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from django import forms
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.template import engines
from django.urls import path

received: list[str] = []
asked = {"board": 0}
HEAD = (
    '{% extends "base.html" %}{% load components %}{% block heading %}Sample{% endblock %}{% block content %}'
)


class ChargeForm(forms.Form):
    """A number that only digits satisfy, and a note."""

    charge = forms.RegexField(r"^\d+$", label="Charge", error_messages={"invalid": "Digits only."})
    note = forms.CharField(label="Note", required=False)


def shown(request: HttpRequest, body: str, **context: object) -> HttpResponse:
    """Return a page of the skeleton with this content."""
    return HttpResponse(
        engines["django"].from_string(HEAD + body + "{% endblock %}").render(context, request)
    )


@login_not_required
def charge(request: HttpRequest) -> HttpResponse:
    """A form that keeps a draft and sends once."""
    form = ChargeForm(request.POST or None)
    if request.method == "POST":
        received.append(request.POST["charge"])
        if form.is_valid():
            messages.success(request, "The charge is on record.")
            return redirect("charge")
    return shown(
        request,
        '<form class="form" method="post" data-once data-draft="charge">{% csrf_token %}{% fields form %}'
        '{% button "Record the charge" tone="primary" %}</form>',
        form=form,
    )


@login_not_required
def clock(request: HttpRequest) -> HttpResponse:
    """A clock that started ten minutes ago, one that has run out, and one to start."""
    now = datetime.now(tz=UTC)
    return shown(
        request,
        '<div id="up">{% timer "Hold" started_at=started %}</div>'
        '<div id="over">{% timer "Wait" started_at=started seconds=60 %}</div>'
        '<div id="own">{% timer "Own" seconds=600 key="own" %}</div>'
        '<form id="short">{% timer "Short" seconds=1 key="short" fills="waited" %}'
        '<input name="waited"></form>',
        started=now - timedelta(minutes=10),
    )


@login_not_required
def board(request: HttpRequest) -> HttpResponse:
    """A part that renews itself each second, and counts how often."""
    asked["board"] += 1
    return shown(
        request,
        '<section id="board" data-refresh="1"><p id="count">{{ count }}</p>'
        '<input aria-label="Plate" id="plate"></section>',
        count=asked["board"],
    )


@login_not_required
def question(request: HttpRequest) -> HttpResponse:
    """An act behind a question."""
    if request.method == "POST":
        received.append("retired")
        return redirect("question")
    return shown(
        request,
        '<form method="post">{% csrf_token %}{% button "Put out of service" opens="ask" %}'
        '{% confirm id="ask" title="Put S-2 out of service?" action="Yes, put it out" %}'
        "<p>Nobody can connect it.</p>{% endconfirm %}</form>"
        '{% quantity "Low side" "1.9" "bar" also="27.6 psi" %}',
    )


urlpatterns = [
    path("charge/", charge, name="charge"),
    path("clock/", clock),
    path("board/", board),
    path("question/", question, name="question"),
]
