"""Requests that are larger than anything that is taken are turned away before they are read."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.utils.translation import gettext as _

from shopcool.attachments.errors import FileRefused
from shopcool.attachments.limits import largest_request


class LargestRequestMiddleware:
    """Answer 413 to a request that announces more than the largest one; without a length none is read."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        announced = request.META.get("CONTENT_LENGTH") or "0"
        if announced.isdecimal() and int(announced) > largest_request():
            return _refuse(request)
        return self.get_response(request)


def _refuse(request: HttpRequest) -> HttpResponse:
    limit = {"limit": round(largest_request() / 1e6)}
    error = FileRefused(_("Together the files are larger than %(limit)d MB. Attach fewer at once.") % limit)
    if request.path.startswith("/api/"):
        body = {"code": error.code, "message": error.message, "fields": {}}
        return JsonResponse(body, status=413)
    return render(request, "refused.html", {"error": error}, status=413)
