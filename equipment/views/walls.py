"""The board on the wall, and who may put it there."""

from __future__ import annotations

from zoneinfo import ZoneInfo

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import get_conditional_response, patch_cache_control
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_variables
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from equipment.forms.walls import WallForm
from equipment.pages.wall import display_with_secret, displays_visible_to, wall_page, wall_version
from equipment.policies import may_manage_walls
from equipment.services.walls import wall_close, wall_open
from equipment.views.doors import GET_OR_POST, attempt, colleague, posted, status_of
from shopcool.core import clock
from shopcool.core.loaders import load
from shopcool.shop.models import Shop
from shopcool.shop.selectors import shop_get


@login_not_required
@require_safe
@sensitive_variables("secret")
def wall_display(request: HttpRequest, secret: str) -> HttpResponseBase:
    """Show the board on a display that nobody is signed in at; a wrong or closed address shows nothing."""
    if display_with_secret(secret) is None:
        raise Http404(_("There is nothing here, or it is not yours to see."))
    shop = shop_get()
    with timezone.override(ZoneInfo(shop.time_zone)):
        return wall_answer(request, shop)


def wall_answer(request: HttpRequest, shop: Shop) -> HttpResponseBase:
    """Return the wall, or only that nothing changed since the version that the browser names."""
    now = clock.now()
    version = wall_version(shop, now)
    response = get_conditional_response(request, etag=version)
    if response is None:
        wall = wall_page(shop=shop, now=now, version=version)
        response = render(request, "equipment/wall.html", {"wall": wall})
    response.headers["ETag"] = version
    patch_cache_control(response, private=True, no_cache=True)
    return response


@require_http_methods(GET_OR_POST)
def walls(request: HttpRequest) -> HttpResponse:
    """List the displays; an owner adds one here and sees its address, once."""
    actor = colleague(request, may_manage_walls)
    form, address = WallForm(posted(request)), ""
    opened = attempt(form, lambda: wall_open(actor=actor, now=clock.now(), **form.cleaned_data))
    if opened is not None:
        address = request.build_absolute_uri(reverse("equipment:wall_display", args=[opened[1]]))
    context = {"displays": displays_visible_to(actor), "form": WallForm() if opened else form}
    status = 200 if opened else status_of(form)
    return render(request, "equipment/walls.html", {**context, "address": address}, status=status)


@require_POST
def wall_end(request: HttpRequest, display_id: int) -> HttpResponse:
    """End the address of a display."""
    actor = colleague(request, may_manage_walls)
    display = load(displays_visible_to(actor), actor=actor, policy=may_manage_walls, pk=display_id)
    wall_close(actor=actor, display_id=display.pk, now=clock.now())
    messages.success(request, _("“%(name)s” shows nothing any more.") % {"name": display.name})
    return redirect("equipment:walls")
