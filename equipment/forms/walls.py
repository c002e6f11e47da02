"""The form that lets a display on the wall show the board."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _


class WallForm(forms.Form):
    """Where the display hangs, so that it can be told from others later."""

    name = forms.CharField(label=_("Where does it hang?"), max_length=80)
