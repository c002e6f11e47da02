"""Forms of what can happen to a piece: types and shapes only, the rules are in the services."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any
from uuid import uuid4

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from equipment.exposure import Residue
from equipment.forms.fields import EarlierField, WordsField, additives_field, lubricants_field
from equipment.pages.circuits import circuits_with_plate
from shopcool.vehicles.choices import Lubricant
from shopcool.vehicles.models import Circuit


def residue_of(lubricants: Sequence[str], additives: Sequence[str] = ()) -> Residue:
    """Return what was ticked as a residue."""
    return Residue(
        lubricants=frozenset(lubricants) - {Lubricant.UNKNOWN.value},
        additives=frozenset(additives),
        unknown=Lubricant.UNKNOWN.value in lubricants,
    )


class EntryForm(forms.Form):
    """A form that writes one entry, with a key of its own so that it writes it once."""

    submission_key = forms.UUIDField(required=False, widget=forms.HiddenInput, initial=uuid4)


class ContactForm(EntryForm):
    """What a piece touched outside a connection of Shopcool."""

    plate = forms.CharField(
        label=_("Registration of the car"),
        required=False,
        max_length=20,
        help_text=_("Its oil and refrigerant are taken from its label."),
    )
    circuit = forms.ModelChoiceField(
        label=_("Which circuit"), queryset=Circuit.objects.none(), widget=forms.RadioSelect, empty_label=None
    )
    lubricants = lubricants_field(with_unknown=True, label=_("Or the oil it touched"))
    additives = additives_field(label=_("What else was in it"))
    occurred_at = EarlierField(label=_("When"))
    note = WordsField(label=_("What happened, and how do you know?"))

    def __init__(self, *arguments: Any, **options: Any) -> None:
        super().__init__(*arguments, **options)
        self.found = circuits_with_plate(self.data.get("plate", ""))
        if len(self.found) > 1:
            field = self.fields["circuit"]
            field.queryset = Circuit.objects.filter(  # type: ignore[attr-defined]
                pk__in=[circuit.pk for circuit in self.found]
            ).select_related("vehicle")
        else:
            del self.fields["circuit"]

    def clean_plate(self) -> str:
        """Refuse a registration that no vehicle has, so that a slip of the finger is not lost."""
        plate: str = self.cleaned_data["plate"].strip()
        if plate and not self.found:
            raise ValidationError(_("No vehicle has this registration. Add it first, or name the oil."))
        return plate

    def clean(self) -> dict[str, Any]:
        """Return the circuit and the residue that were named."""
        cleaned: dict[str, Any] = self.cleaned_data
        if len(self.found) == 1:
            cleaned["circuit"] = self.found[0]
        lubricants, additives = cleaned.get("lubricants", []), cleaned.get("additives", [])
        if not self.errors and not (cleaned.get("circuit") or lubricants or additives):
            self.add_error("plate", _("Name the car, or tick what the piece touched."))
        cleaned["residue"] = residue_of(lubricants, additives)
        return cleaned


class PumpOilForm(EntryForm):
    """When vacuum-pump oil may have crept in."""

    occurred_at = EarlierField(label=_("When"))
    note = WordsField(label=_("What happened"), required=False)


class CameBackForm(EntryForm):
    """Where a piece has been."""

    occurred_at = EarlierField(label=_("When it came back"))
    note = WordsField(label=_("Where has it been, and with whom?"))


class InspectionForm(EntryForm):
    """What an inspection found inside a piece."""

    CLEAN, RESIDUE = "CLEAN", "RESIDUE"

    finding = forms.ChoiceField(
        label=_("What is inside"),
        choices=[(CLEAN, _("Nothing: dry and clean")), (RESIDUE, _("Residue, as ticked below"))],
        widget=forms.RadioSelect,
    )
    lubricants = lubricants_field(with_unknown=False, label=_("Oil that was found"))
    additives = additives_field(label=_("What else was found"))
    occurred_at = EarlierField(label=_("When"))
    note = WordsField(label=_("How was it inspected, and where is the document?"))

    def clean(self) -> dict[str, Any]:
        """Refuse a finding that the ticks contradict: a forgotten tick must not read as clean."""
        cleaned: dict[str, Any] = self.cleaned_data
        found = residue_of(cleaned.get("lubricants", []), cleaned.get("additives", []))
        if cleaned.get("finding") == self.CLEAN and found != Residue():
            self.add_error("finding", _("Residue is ticked below. Say which of the two is true."))
        if cleaned.get("finding") == self.RESIDUE and found == Residue():
            self.add_error("lubricants", _("Tick what was found."))
        cleaned["residue"] = found
        return cleaned


class OutOfServiceForm(EntryForm):
    """Why nobody may use a piece."""

    note = WordsField(label=_("Why must it not be used?"), max_length=300)


class ReturnForm(EntryForm):
    """Why a piece may be used again."""

    note = WordsField(label=_("What was done before it may be used again?"))


class RetireForm(forms.Form):
    """Why a piece leaves the workshop for good."""

    reason = WordsField(label=_("Why does it leave the workshop?"))


class WithdrawForm(forms.Form):
    """Why an entry is wrong."""

    note = WordsField(label=_("Why is the entry wrong?"))
