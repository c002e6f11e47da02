"""The form that asks where a residue went or came from."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from equipment.forms.fields import EarlierField
from equipment.forms.history import EARLIEST, LATEST
from equipment.trace import Direction


class TraceForm(forms.Form):
    """Which way, and as of when."""

    direction = forms.ChoiceField(
        label=_("Which way"),
        required=False,
        choices=[
            (Direction.TO.value, _("Where can it have gone?")),
            (Direction.FROM.value, _("Where can it have come from?")),
        ],
    )
    at = EarlierField(label=_("From, or up to, this moment"))

    def clean_at(self) -> datetime | None:
        """Refuse a moment that no workshop lives in."""
        at: datetime | None = self.cleaned_data["at"]
        if at is not None and not EARLIEST <= at.date() <= LATEST:
            raise ValidationError(_("A day between 1980 and 2200, please."))
        return at

    def asked(self, usual: datetime, now: datetime) -> tuple[datetime, Direction]:
        """Return moment and way: without a moment everything since ``usual``, or up to now."""
        values: dict[str, Any] = self.cleaned_data if self.is_valid() else {}
        direction = Direction(values.get("direction") or Direction.TO)
        return values.get("at") or (usual if direction is Direction.TO else now), direction
