"""The form of a line in a table of trouble codes."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _

from shopcool.vehicles.choices import CodeArea
from shopcool.vehicles.models import CodeMeaning
from shopcool.vehicles.services.codes import CodeData

_CAPITALS = {"autocapitalize": "characters", "autocomplete": "off", "spellcheck": "false"}


class CodeForm(forms.Form):
    """What the vehicle maker's table says; the rules are in the service."""

    make = forms.CharField(label=_("Make"), max_length=60, help_text=_("As the vehicles have it."))
    model = forms.CharField(label=_("Model"), max_length=60)
    code = forms.CharField(label=_("Code"), max_length=5, widget=forms.TextInput(attrs=_CAPITALS))
    detail = forms.CharField(
        label=_("Detail code"),
        max_length=3,
        required=False,
        help_text=_("The maker's own characters behind it; empty for the code alone."),
        widget=forms.TextInput(attrs=_CAPITALS),
    )
    meaning = forms.CharField(label=_("Meaning"), max_length=300, widget=forms.Textarea(attrs={"rows": 2}))
    area = forms.ChoiceField(label=_("Where it points"), choices=CodeArea.choices, widget=forms.RadioSelect)
    source = forms.CharField(
        label=_("Where the table stands"),
        max_length=200,
        help_text=_("The vehicle maker's document, with its page."),
    )

    def data_of_code(self) -> CodeData:
        """Return what was entered."""
        return CodeData(**{**self.cleaned_data, "area": CodeArea(self.cleaned_data["area"])})


def code_initial(meaning: CodeMeaning) -> dict[str, str]:
    """Return a line as the form shows it."""
    return {name: getattr(meaning, name) for name in CodeForm.base_fields}
