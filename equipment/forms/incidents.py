"""The form that closes an incident."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from equipment.forms.fields import WordsField


def _as_yes(text: Any) -> bool:
    return str(text) == "yes"


class ClosingForm(forms.Form):
    """What was done about an incident, and whether its circuit is clean again."""

    resolution = WordsField(label=_("What was done?"))
    circuit_is_clean = forms.TypedChoiceField(
        label=_("Is the circuit free of foreign oil now?"),
        choices=[
            ("yes", _("Yes: parts were replaced, or its oil was tested")),
            ("no", _("No, or nobody knows: keep the warning on this car")),
        ],
        coerce=_as_yes,
        widget=forms.RadioSelect,
    )
