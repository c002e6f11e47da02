"""The page of the workshop's settings."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from shopcool.core import clock
from shopcool.core.errors import DomainError, require
from shopcool.core.forms import add_domain_error
from shopcool.engineering.quantities import Kind, format_quantity
from shopcool.people.requests import actor_of
from shopcool.shop.forms import ShopForm, shop_initial
from shopcool.shop.notices import place_notices
from shopcool.shop.policies import may_change_shop
from shopcool.shop.selectors import atmosphere_pa, shop_of
from shopcool.shop.services import shop_update


@require_http_methods(["GET", "HEAD", "POST"])
def settings(request: HttpRequest) -> HttpResponse:
    """Show and change the workshop's settings."""
    actor = actor_of(request)
    require(may_change_shop(actor))
    shop = shop_of(request)
    form = ShopForm(request.POST or None, initial=shop_initial(shop))
    if form.is_valid():
        try:
            shop_update(actor=actor, settings=form.settings(), now=clock.now())
        except DomainError as error:
            add_domain_error(form, error)
        else:
            messages.success(request, _("The settings hold from now on."))
            return redirect("shop:settings")
    air = format_quantity(atmosphere_pa(shop), Kind.PRESSURE, "hPa", basis="absolute", digits=0)
    context = {"form": form, "air": air, "notices": place_notices(shop)}
    return render(request, "shop/settings.html", context, status=422 if form.is_bound else 200)
