"""What every form of the pages shares."""

from __future__ import annotations

from django import forms
from django.core.exceptions import ValidationError

from shopcool.core.errors import DomainError
from shopcool.engineering.errors import Refusal


def add_domain_error(form: forms.BaseForm, error: DomainError | Refusal) -> None:
    """Put a refusal beside the field that it blames, or on top of the form when it blames none."""
    field = error.field if error.field in form.fields else None
    form.add_error(field, ValidationError(error.message, code=error.code))
