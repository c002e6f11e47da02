"""Fields that several forms of the equipment share."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from shopcool.vehicles.choices import Additive, Lubricant, Refrigerant

#: What a piece or a document may be labelled for.
LABEL_REFRIGERANTS = [choice for choice in Refrigerant.choices if choice[0] != Refrigerant.UNKNOWN]
LABEL_LUBRICANTS = [choice for choice in Lubricant.choices if choice[0] != Lubricant.UNKNOWN]


class EarlierField(forms.DateTimeField):
    """When something happened, in the time zone of the workshop; left empty it is now."""

    note = _("empty means now")

    def __init__(self, **options: Any) -> None:
        widget = forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M")
        super().__init__(required=False, widget=widget, **options)


class DayField(forms.DateField):
    """A day of the calendar."""

    def __init__(self, **options: Any) -> None:
        widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
        super().__init__(widget=widget, **options)


class WordsField(forms.CharField):
    """A few sentences."""

    def __init__(self, *, max_length: int = 500, **options: Any) -> None:
        widget = forms.Textarea(attrs={"rows": 3})
        super().__init__(max_length=max_length, widget=widget, **options)


class TilesField(forms.MultipleChoiceField):
    """Some of a few choices, to tick."""

    note = ""

    def __init__(self, **options: Any) -> None:
        super().__init__(required=False, widget=forms.CheckboxSelectMultiple, **options)


def lubricants_field(*, with_unknown: bool, **options: Any) -> TilesField:
    """Return the choice of oil classes."""
    return TilesField(choices=Lubricant.choices if with_unknown else LABEL_LUBRICANTS, **options)


def additives_field(**options: Any) -> TilesField:
    """Return the choice of additives."""
    return TilesField(choices=Additive.choices, **options)
