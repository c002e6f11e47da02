"""What the clearance pages send: the chosen pieces, and an owner's reason."""

from __future__ import annotations

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext_lazy as _


class OverrideForm(forms.Form):
    """Why an owner connects against a refusal."""

    reason = forms.CharField(
        label=_("Why you connect all the same"),
        max_length=500,
        help_text=_("It stands on every page and every report of this job, with your name."),
        widget=forms.Textarea(attrs={"rows": 4}),
    )


def chosen_pieces(sent: QueryDict) -> list[int]:
    """Return the numbers of the ticked pieces, each once; anything that is no number was not ticked here."""
    numbers = [int(value) for value in sent.getlist("pieces") if value.isascii() and value.isdigit()]
    return list(dict.fromkeys(number for number in numbers if number < 2**63))
