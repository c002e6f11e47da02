"""The form that puts a reminder aside."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _


class SnoozeForm(forms.Form):
    """Until when, and why it can wait."""

    until = forms.DateField(
        label=_("Remind me again on"),
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )
    reason = forms.CharField(
        label=_("Why it can wait"),
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=_("Stays on record with your name."),
    )
