"""How the REST API answers a refusal: one shape for every error."""

from __future__ import annotations

from typing import Any

from django.http import Http404
from django.utils.translation import gettext as _
from rest_framework import exceptions
from rest_framework.response import Response
from rest_framework.views import exception_handler as default_handler

from shopcool.core.errors import DomainError
from shopcool.engineering.errors import Refusal


def exception_handler(error: Exception, context: dict[str, Any]) -> Response | None:
    """Return ``{code, message, fields}`` for every refusal, with the HTTP status that fits."""
    if isinstance(error, Refusal):
        error = DomainError.from_refusal(error)
    fields: Any
    if isinstance(error, DomainError):
        return _answer(error.status, error.code, error.message, error.by_field, error.details)
    if isinstance(error, exceptions.ValidationError):
        fields = error.detail if isinstance(error.detail, dict) else {"non_field_errors": error.detail}
        return _answer(400, "invalid", _("Some of the values can't be used."), fields)
    response = default_handler(error, context)
    if response is None:
        return None
    code = "not_found" if isinstance(error, Http404) else getattr(error, "default_code", "error")
    message = str(getattr(error, "detail", error)) or _("This can't be done.")
    answer = _answer(response.status_code, code, message, {})
    for header in ("WWW-Authenticate", "Retry-After"):
        if header in response.headers:
            answer.headers[header] = response.headers[header]
    return answer


def _answer(
    status: int, code: str, message: str, fields: Any, details: dict[str, object] | None = None
) -> Response:
    body: dict[str, Any] = {"code": code, "message": message, "fields": fields}
    if details:
        body["details"] = details
    return Response(body, status=status)
