"""The form that prints labels: which pieces, on which paper, from which place of the first sheet."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from equipment.labels import SIZES, LabelSize


class LabelsForm(forms.Form):
    """Paper and place; the pieces are ticked beside it."""

    everything = forms.BooleanField(label=_("All pieces of this list"), required=False)
    size = forms.ChoiceField(
        label=_("Paper"),
        choices=[(size.code, size.name) for size in SIZES.values()],
        initial=next(iter(SIZES)),
        widget=forms.RadioSelect,
    )
    start = forms.IntegerField(
        label=_("First free label on the sheet"),
        help_text=_("Counted along the rows, from 1: so that a sheet begun before is used up."),
        min_value=1,
        initial=1,
        widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
    )

    @property
    def paper(self) -> LabelSize:
        """The chosen paper of a valid form."""
        return SIZES[self.cleaned_data["size"]]

    def clean(self) -> dict[str, Any]:
        """Refuse a place that the sheet does not have."""
        values: dict[str, Any] = self.cleaned_data
        if "size" in values and values.get("start", 1) > self.paper.sheet.count:
            sentence = _("This paper has %(count)d labels on a sheet.")
            self.add_error("start", sentence % {"count": self.paper.sheet.count})
        return values
