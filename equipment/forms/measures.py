"""Forms about what a hose set holds and how a machine weighs."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from equipment.choices import HoseAllowance, PieceKind
from equipment.models import Piece
from equipment.services.measures import (
    LARGEST_TOLERANCE_KG,
    MOST_LINES,
    HoseMeasured,
    MachineWeighs,
)
from shopcool.core.fields import QuantityField
from shopcool.core.quantities import stored_quantity
from shopcool.engineering.hose import LARGEST_HOSE_M3, LONGEST_M, NARROWEST_M, WIDEST_M
from shopcool.engineering.quantities import Kind
from shopcool.shop.units import Units


class MeasuresForm(forms.Form):
    """A form about a piece's measures: in the reader's units, bores as they are printed."""

    def ask_in(self, units: Units) -> None:
        """Expect bare masses and volumes in the reader's units."""
        for field in self.fields.values():
            if isinstance(field, QuantityField) and field.rule.kind in {Kind.MASS, Kind.VOLUME}:
                field.use_rule(field.rule.in_unit(units.of_kind(field.rule.kind)))


class HoseForm(MeasuresForm):
    """What a hose set holds: weighed, or by bore and length."""

    content = QuantityField(
        kind=Kind.VOLUME,
        default_unit="ml",
        units=("ml", "US fl oz", "imp fl oz"),
        minimum=1e-6,
        maximum=LARGEST_HOSE_M3,
        required=False,
        label=_("Content as weighed"),
        help_text=_("What stayed in the hoses, as volume of liquid. It counts more than bore and length."),
    )
    bore = QuantityField(
        kind=Kind.LENGTH,
        default_unit="mm",
        units=("mm", "in"),
        minimum=NARROWEST_M,
        maximum=WIDEST_M,
        required=False,
        label=_("Bore of a line"),
        help_text=_("Inside. The outer diameter says nothing."),
    )
    length = QuantityField(
        kind=Kind.LENGTH,
        default_unit="m",
        units=("m", "cm", "ft", "in"),
        minimum=1e-2,
        maximum=LONGEST_M,
        required=False,
        label=_("Length of a line"),
    )
    line_count = forms.TypedChoiceField(
        label=_("Lines that stay full of liquid after a charge"),
        coerce=int,
        choices=[(number, str(number)) for number in range(1, MOST_LINES + 1)],
        initial=1,
        widget=forms.RadioSelect,
    )
    source = forms.CharField(
        label=_("How this was found out"),
        required=False,
        max_length=160,
        help_text=_("Weighed three times on 3 March, print on the hose, maker's data, …"),
    )

    def measured(self) -> HoseMeasured:
        """Return what was filled in, for the service."""
        return HoseMeasured(**self.cleaned_data)


class WeighingForm(MeasuresForm):
    """How a machine weighs, and whether it adds what its hoses keep."""

    tolerance = QuantityField(
        kind=Kind.MASS,
        default_unit="g",
        units=("g", "oz"),
        minimum=1e-3,
        maximum=LARGEST_TOLERANCE_KG,
        required=False,
        label=_("Its charge is within"),
        help_text=_("Plus or minus, as its maker or its calibration says."),
    )
    allowance = forms.ChoiceField(
        label=_("What its hoses keep"),
        choices=[*HoseAllowance.choices, ("", _("Nobody has said"))],
        widget=forms.RadioSelect,
        required=False,
    )
    allows_for = forms.ModelChoiceField(
        label=_("Set up with this hose set"),
        queryset=Piece.objects.none(),
        required=False,
        empty_label=_("None, or not known"),
        help_text=_("Changing the hose voids the setting: another bore keeps another amount."),
    )

    def __init__(self, *arguments: Any, **options: Any) -> None:
        super().__init__(*arguments, **options)
        hoses = Piece.objects.filter(kind=PieceKind.HOSE_SET, retired_at__isnull=True).order_by("code")
        self.fields["allows_for"].queryset = hoses  # type: ignore[attr-defined]

    def weighs(self) -> MachineWeighs:
        """Return what was filled in, for the service."""
        return MachineWeighs(**self.cleaned_data)


def hose_initial(piece: Piece) -> dict[str, object]:
    """Return a hose set as its form shows it, as it was typed."""
    kinds = {"content": Kind.VOLUME, "bore": Kind.LENGTH, "length": Kind.LENGTH}
    typed = {name: stored_quantity(piece.measures_typed.get(name, ""), kind) for name, kind in kinds.items()}
    return {**typed, "line_count": piece.line_count, "source": piece.measure_source}


def weighing_initial(piece: Piece) -> dict[str, object]:
    """Return a machine as its form shows it."""
    return {
        "tolerance": stored_quantity(piece.measures_typed.get("tolerance", ""), Kind.MASS),
        "allowance": piece.hose_allowance,
        "allows_for": piece.allows_for_id,
    }
