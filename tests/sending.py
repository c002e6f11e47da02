"""What a browser sends with a form that nobody touched."""

from __future__ import annotations

from typing import Any

from django.forms import Form

from shopcool.core.fields import Typed


def as_sent(form: Form) -> dict[str, Any]:
    """Return the fields of a form as its page shows them."""
    sent: dict[str, Any] = {}
    for bound in form:
        value = bound.field.prepare_value(bound.value())
        if isinstance(value, Typed):
            sent |= {bound.name: value.text, f"{bound.name}_unit": value.unit}
        elif value not in (None, False):
            sent[bound.name] = value
    return sent
