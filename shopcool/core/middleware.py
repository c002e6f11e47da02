"""What every answer has: its headers, and a page for a refusal that no form shows."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.defaults import permission_denied

from shopcool.core.errors import DomainError, NotAllowed
from shopcool.engineering.errors import Refusal

# Scripts and styles come from our own files only; data: images are the icons inside the style sheets.
CONTENT_SECURITY_POLICY = (
    "default-src 'self'; img-src 'self' data:; object-src 'none'; base-uri 'none'; "
    "form-action 'self'; frame-ancestors 'none'"
)


class ContentSecurityPolicyMiddleware:
    """Forbid inline script and anything from another host, on every page."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        response.headers.setdefault("Content-Security-Policy", CONTENT_SECURITY_POLICY)
        response.headers.setdefault("Permissions-Policy", "geolocation=(), microphone=()")
        return response


class RefusalPageMiddleware:
    """Answer a refusal that a view did not show itself with a page that says why, and the fitting status."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        # No database takes a null character, and nobody types one into an address.
        if "\0" in request.path or "%00" in request.META.get("QUERY_STRING", ""):
            error = DomainError(_("This address holds a character that can't be read."))
            return render(request, "refused.html", {"error": error}, status=error.status)
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:
        """Return the page of the refusal, None for anything that is not one."""
        if isinstance(exception, Refusal):
            exception = DomainError.from_refusal(exception)
        if isinstance(exception, NotAllowed):
            return permission_denied(request, exception)
        if isinstance(exception, DomainError):
            return render(request, "refused.html", {"error": exception}, status=exception.status)
        return None
