"""Forms that describe a piece and its documents as they are labelled."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from equipment.choices import INSTRUMENTS, DocumentKind, GloveClass, PieceKind
from equipment.forms.fields import LABEL_LUBRICANTS, LABEL_REFRIGERANTS, DayField, TilesField
from equipment.maintenance.plans import PlanDescription
from equipment.maintenance.suggestions import suggestions_for
from equipment.services.pieces import DocumentDescription, PieceDescription

_NOT_SAID = [("", _("Nobody has said"))]
_YES_NO = [("yes", _("Yes")), ("no", _("No"))]
_TOOL = ("refrigerant", "dedicated_to")

#: Which questions each kind of piece raises beside its code and name.
QUESTIONS: dict[PieceKind, tuple[str, ...]] = {
    PieceKind.MACHINE: ("refrigerant", "can_inject_oil", "can_inject_dye", "dedicated_to"),
    PieceKind.HOSE_SET: _TOOL,
    PieceKind.SIGHT_GLASS: _TOOL,
    PieceKind.MANIFOLD: _TOOL,
    PieceKind.ADAPTER: _TOOL,
    PieceKind.INJECTOR: ("refrigerant", "lubricant", "lubricant_grade"),
    PieceKind.RECOVERY_CYLINDER: ("refrigerant", "is_marked_for_contaminated"),
    PieceKind.OIL_BOTTLE: (),
    **dict.fromkeys(INSTRUMENTS, ()),
    PieceKind.GLOVES: ("glove_class", "last_done_on", "issued_on"),
}
_ALWAYS = ("code", "name", "maker", "serial_number")


def _yes_no(**options: Any) -> forms.TypedChoiceField:
    return forms.TypedChoiceField(
        choices=[*_YES_NO, *_NOT_SAID],
        coerce={"yes": True, "no": False}.get,
        empty_value=None,
        required=False,
        widget=forms.RadioSelect,
        **options,
    )


class PieceForm(forms.Form):
    """A piece of one kind, with the questions that this kind raises."""

    code = forms.CharField(
        label=_("Code"),
        max_length=20,
        help_text=_("Short, as on its tag: H-2, M-1, G-3."),
        widget=forms.TextInput(attrs={"autocapitalize": "characters", "spellcheck": "false"}),
    )
    name = forms.CharField(label=_("Name"), max_length=120, help_text=_("As people call it in the bay."))
    refrigerant = forms.ChoiceField(
        label=_("Refrigerant it is labelled for"), widget=forms.RadioSelect, required=False
    )
    lubricant = forms.ChoiceField(
        label=_("Oil class it is labelled for"), choices=LABEL_LUBRICANTS, widget=forms.RadioSelect
    )
    lubricant_grade = forms.CharField(label=_("Oil grade"), max_length=60, required=False)
    can_inject_oil = _yes_no(label=_("Can it inject oil?"))
    can_inject_dye = _yes_no(label=_("Can it inject dye?"))
    dedicated_to = forms.ChoiceField(
        label=_("May it only ever touch one oil class?"),
        choices=[("", _("No, it is purged between cars")), *LABEL_LUBRICANTS],
        widget=forms.RadioSelect,
        required=False,
    )
    is_marked_for_contaminated = forms.BooleanField(
        label=_("Marked for contaminated refrigerant"), required=False
    )
    glove_class = forms.ChoiceField(
        label=_("Class"),
        choices=GloveClass.choices,
        widget=forms.RadioSelect,
        help_text=_("As printed on the cuff."),
    )
    issued_on = DayField(
        label=_("First issued on"), required=False, help_text=_("Leave empty while they lie in store.")
    )
    maker = forms.CharField(label=_("Maker"), max_length=80, required=False)
    serial_number = forms.CharField(label=_("Serial number"), max_length=80, required=False)
    last_done_on = DayField(
        label=_("Last tested on"), help_text=_("As stamped on the cuff or written on the test paper.")
    )
    plans = TilesField(
        label=_("Maintenance it gets"),
        help_text=_("Intervals to begin with. The maker's manual comes first; change them on its page."),
    )

    def __init__(self, *arguments: Any, kind: PieceKind, **options: Any) -> None:
        super().__init__(*arguments, **options)
        self.kind = kind
        for name in set(PieceForm.base_fields) - {*_ALWAYS, *QUESTIONS[kind], "plans"}:
            del self.fields[name]
        if kind is PieceKind.INJECTOR:
            self.fields["lubricant_grade"].required = True
        self._offer_plans()
        if "refrigerant" in self.fields:
            fixed = kind in {PieceKind.MACHINE, PieceKind.INJECTOR}
            anything = [] if fixed else [("", _("None: it takes the gas of the loop"))]
            self.fields["refrigerant"].choices = [*LABEL_REFRIGERANTS, *anything]  # type: ignore[attr-defined]
            self.fields["refrigerant"].required = fixed

    def _offer_plans(self) -> None:
        """Offer the usual plans; gloves always get theirs, since without a test nobody may wear them."""
        offered = suggestions_for(self.kind)
        if not offered or self.kind is PieceKind.GLOVES:
            del self.fields["plans"]
            return
        self.fields["plans"].note = _("tick what applies")  # type: ignore[attr-defined]
        self.fields["plans"].choices = [  # type: ignore[attr-defined]
            (one.work.value, f"{one.work.label}: {one.words} ({one.source_words})") for one in offered
        ]

    def planned(self) -> tuple[PlanDescription, ...]:
        """Return the plans that were ticked, for the service."""
        ticked = set(self.cleaned_data.get("plans", ()))
        tested_on = self.cleaned_data.get("last_done_on")
        return tuple(
            replace(one.description(), starts_on=tested_on)
            for one in suggestions_for(self.kind)
            if one.work.value in ticked or self.kind is PieceKind.GLOVES
        )

    def clean_code(self) -> str:
        """Return the code in capitals, so that two people write it alike and no page hides behind it."""
        code: str = self.cleaned_data["code"].strip().upper()
        if not all(letter.isalnum() or letter in "-._" for letter in code):
            raise forms.ValidationError(_("Use letters, digits and - . _ only, without spaces."))
        return code

    def description(self) -> PieceDescription:
        """Return what was filled in, for the service."""
        values = {
            name: self.cleaned_data[name]
            for name in PieceForm.base_fields
            if name in self.cleaned_data and name not in {"plans", "last_done_on"}
        }
        return PieceDescription(kind=self.kind, **values)


class DocumentForm(forms.Form):
    """A certificate or a calibration as it is written on its paper."""

    kind = forms.ChoiceField(label=_("What it is"), choices=DocumentKind.choices, widget=forms.RadioSelect)
    number = forms.CharField(label=_("Number"), max_length=80)
    body = forms.CharField(label=_("Issued by"), max_length=120)
    issued_on = DayField(label=_("Issued on"))
    valid_until = DayField(
        label=_("Valid until"), required=False, help_text=_("Leave empty when the paper names no end.")
    )
    standard = forms.CharField(label=_("Standard"), max_length=80, required=False)
    edition = forms.CharField(label=_("Edition"), max_length=40, required=False)
    refrigerants = TilesField(label=_("Refrigerants a certificate covers"), choices=LABEL_REFRIGERANTS)
    lubricants = TilesField(
        label=_("Oil classes a certificate names"),
        choices=LABEL_LUBRICANTS,
        help_text=_("Leave empty when it names none."),
    )
    covers_high_voltage = forms.BooleanField(
        label=_("Covers high-voltage compressors"),
        required=False,
        help_text=_("Only when the paper says so."),
    )

    def description(self) -> DocumentDescription:
        """Return what was filled in, for the service."""
        values = self.cleaned_data
        return DocumentDescription(
            **{
                **values,
                "kind": DocumentKind(values["kind"]),
                "refrigerants": tuple(values["refrigerants"]),
                "lubricants": tuple(values["lubricants"]),
            }
        )
