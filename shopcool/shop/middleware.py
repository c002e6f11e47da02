"""Every page is shown in the workshop's own time."""

from __future__ import annotations

from collections.abc import Callable
from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from shopcool.shop.selectors import shop_get


class ShopTimeZoneMiddleware:
    """Activate the shop's time zone for the length of a request of a signed-in person."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if not request.user.is_authenticated:
            return self.get_response(request)
        request.shop = shop_get()  # type: ignore[attr-defined]
        with timezone.override(ZoneInfo(request.shop.time_zone)):  # type: ignore[attr-defined]
            return self.get_response(request)
