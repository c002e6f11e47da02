"""The form of a line purge: the loop, the positions of its valves, what was read."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import Any
from uuid import uuid4

from django import forms
from django.utils.translation import gettext_lazy as _

from equipment.forms.fields import EarlierField, TilesField, WordsField
from equipment.pages.loops import LoopPage
from equipment.pages.readings import POSITIONS, limit_words
from equipment.purging import PurgeReadings
from equipment.selectors import purge_method
from shopcool.core.fields import QuantityField
from shopcool.engineering.quantities import Kind, Quantity
from shopcool.shop.selectors import shop_get
from shopcool.shop.units import Units

READINGS = ("circulated", "duration", "final_vacuum")


class PurgeForm(forms.Form):
    """A purge as it was run; readings may stay empty, and then the purge does not count."""

    machine = forms.TypedChoiceField(
        coerce=int, error_messages={"required": _("Tap the machine that drives the loop.")}
    )
    pieces = forms.TypedMultipleChoiceField(coerce=int, required=False)
    positions = TilesField(label=_("Before it runs"), choices=POSITIONS)
    completed = forms.ChoiceField(
        label=_("How did it end?"),
        choices=[("yes", _("Ran to its end")), ("no", _("Stopped before its end"))],
        widget=forms.RadioSelect,
    )
    circulated = QuantityField(
        kind=Kind.MASS,
        default_unit="g",
        minimum=0.0,
        maximum=20.0,
        units=("g", "kg", "oz", "lb"),
        required=False,
        label=_("Mass circulated"),
    )
    duration = QuantityField(
        kind=Kind.DURATION,
        default_unit="min",
        minimum=0.0,
        maximum=86_400.0,
        units=("min", "s", "h"),
        required=False,
        label=_("Duration"),
    )
    final_vacuum = QuantityField(
        kind=Kind.PRESSURE,
        default_unit="mbar",
        default_basis="vacuum",
        minimum=0.0,
        units=("mbar", "hPa", "kPa", "bar", "inHg", "micron", "Torr", "psi"),
        required=False,
        label=_("Final vacuum"),
    )
    occurred_at = EarlierField(label=_("When it ended"))
    note = WordsField(label=_("Note"), required=False)
    job = forms.CharField(max_length=20, required=False, widget=forms.HiddenInput)
    draft = forms.CharField(max_length=200, required=False, widget=forms.HiddenInput)
    submission_key = forms.UUIDField(widget=forms.HiddenInput, initial=uuid4)

    def __init__(self, *arguments: Any, page: LoopPage, units: Units, **options: Any) -> None:
        super().__init__(*arguments, **options)
        self.fields["machine"].choices = [(tile.id, tile.name) for tile in page.machines]  # type: ignore[attr-defined]
        self.fields["pieces"].choices = [(tile.id, tile.name) for tile in page.pieces]  # type: ignore[attr-defined]
        self.fields["job"].initial = page.selection.job_number
        # The draft on the tablet keeps its name when the form comes back with other pieces tapped.
        self.fields["draft"].initial = page.selection.key
        asked = (units.mass, "min", units.vacuum)
        for name, unit, help_text in zip(
            READINGS, asked, limit_words(purge_method(shop_get()), units), strict=True
        ):
            field = self.fields[name]
            field.use_rule(  # type: ignore[attr-defined]
                replace(field.rule, default_unit=unit, atmosphere_pa=units.atmosphere_pa)  # type: ignore[attr-defined]
            )
            field.help_text = help_text

    def clean(self) -> dict[str, Any]:
        """Ask for the positions that were not ticked, unless the purge was stopped."""
        cleaned: dict[str, Any] = self.cleaned_data
        missing = {code for code, _words in POSITIONS} - set(cleaned.get("positions", []))
        if cleaned.get("completed") == "yes" and missing:
            self.add_error("positions", _("Tick every line, or say below that the purge was stopped."))
        return cleaned

    def purge(self, now: datetime) -> dict[str, Any]:
        """Return what was filled in, for the service."""
        values = self.cleaned_data
        read: dict[str, Quantity | None] = {name: values[name] for name in READINGS}
        return {
            "submission_key": values["submission_key"],
            "machine_id": values["machine"],
            "piece_ids": values["pieces"],
            "readings": PurgeReadings(
                circulated_kg=_si(read["circulated"]),
                duration_s=_si(read["duration"]),
                final_vacuum_pa=_si(read["final_vacuum"]),
                completed=values["completed"] == "yes",
            ),
            "occurred_at": values["occurred_at"] or now,
            "job_number": values["job"],
            "typed": {
                **{name: quantity.as_record() for name, quantity in read.items() if quantity},
                "positions": values["positions"],
            },
            "note": values["note"],
        }


def _si(quantity: Quantity | None) -> float | None:
    return None if quantity is None else quantity.si
