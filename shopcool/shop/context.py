"""What every template may know about the workshop."""

from __future__ import annotations

from django.http import HttpRequest

from shopcool.shop.models import Shop


def shop(request: HttpRequest) -> dict[str, Shop | None]:
    """Return the shop's settings that the middleware put on the request, None before sign-in."""
    return {"shop": getattr(request, "shop", None)}
