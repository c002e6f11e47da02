"""What the records are searched by."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _


class PeriodForm(forms.Form):
    """A period of days and perhaps words of a car, a customer or a job."""

    first = forms.DateField(
        label=_("From"), required=False, widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    last = forms.DateField(
        label=_("To"), required=False, widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    q = forms.CharField(label=_("Car, customer or job"), required=False, max_length=100)

    def clean(self) -> dict[str, object]:
        """Refuse a period that ends before it begins."""
        typed = super().clean() or {}
        first, last = typed.get("first"), typed.get("last")
        if first and last and last < first:
            self.add_error("last", _("The period ends before it begins."))
        return typed
