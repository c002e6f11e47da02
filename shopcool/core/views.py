"""Pages that belong to no app: the health answer and the style guide."""

from __future__ import annotations

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.db import connection
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from shopcool.core import styleguide as samples
from shopcool.core.errors import require


@login_not_required
@require_safe
def health(request: HttpRequest) -> JsonResponse:
    """Answer whether the application and its database work; without secrets, for watchdogs."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")
    return JsonResponse({"status": "ok"})


@require_safe
def styleguide(request: HttpRequest) -> HttpResponse:
    """Show every component in every state, to the owner and to developers."""
    user = request.user
    require(settings.DEBUG or (user.is_authenticated and user.as_actor().is_owner))
    return render(request, "styleguide.html", samples.context())
