"""Forms about a visit as a whole."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _


class CancelForm(forms.Form):
    """Why a job is not carried through."""

    reason = forms.CharField(
        label=_("Why the job is cancelled"), max_length=300, widget=forms.Textarea(attrs={"rows": 2})
    )
