"""What the history is narrowed by: days and a topic for a piece; also piece, person and job in the log."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from equipment.choices import Verdict
from equipment.forms.fields import DayField
from equipment.history import Scope, Topic
from equipment.models import Piece
from shopcool.core.actors import Actor
from shopcool.people.models import User
from shopcool.people.selectors import people_visible_to
from shopcool.shop.models import Shop

EARLIEST, LATEST = date(1980, 1, 1), date(2200, 1, 1)


class ScopeForm(forms.Form):
    """A topic and a period of whole days at the workshop."""

    topic = forms.ChoiceField(
        label=_("What"), required=False, choices=[("", _("Everything")), *Topic.choices]
    )
    first = DayField(label=_("From"), required=False)
    last = DayField(label=_("To"), required=False)

    def clean(self) -> dict[str, Any]:
        """Refuse a period that ends before it begins, or that no workshop has lived through."""
        cleaned: dict[str, Any] = self.cleaned_data
        for name in ("first", "last"):
            if cleaned.get(name) and not EARLIEST <= cleaned[name] <= LATEST:
                self.add_error(name, _("A day between 1980 and 2200, please."))
        first, last = cleaned.get("first"), cleaned.get("last")
        if first and last and last < first:
            self.add_error("last", _("The period ends before it begins."))
        return cleaned

    def scope(self, shop: Shop, piece_id: int | None = None) -> Scope:
        """Return what a valid form asks for; everything when nothing was asked or it is not valid."""
        asked = self.cleaned_data if self.is_valid() else {}
        zone, last = ZoneInfo(shop.time_zone), asked.get("last")
        return Scope(
            since=_midnight(asked.get("first"), zone),
            until=_midnight(last + timedelta(days=1) if last else None, zone),
            piece_id=piece_id or getattr(asked.get("piece"), "pk", None),
            topics=frozenset([Topic(asked["topic"])] if asked.get("topic") else ()),
            person_id=getattr(asked.get("person"), "pk", None),
            job_number=asked.get("job", "").strip(),
            verdict=asked.get("verdict", ""),
        )


class LogForm(ScopeForm):
    """The log of all equipment, for the owner."""

    piece = forms.CharField(label=_("Piece, by its code"), required=False, max_length=20)
    person = forms.ModelChoiceField(
        label=_("Person"), required=False, queryset=User.objects.none(), empty_label=_("Everybody")
    )
    job = forms.CharField(label=_("Job"), required=False, max_length=20)
    verdict = forms.ChoiceField(
        label=_("Verdict"), required=False, choices=[("", _("Any")), *Verdict.choices]
    )

    def __init__(self, *arguments: Any, actor: Actor, **options: Any) -> None:
        super().__init__(*arguments, **options)
        self.fields["person"].queryset = people_visible_to(actor)  # type: ignore[attr-defined]

    def clean_piece(self) -> Piece | None:
        """Return the piece with the code, retired ones included; refuse a code that nothing has."""
        code: str = self.cleaned_data["piece"].strip()
        if not code:
            return None
        found = Piece.objects.filter(code__iexact=code).first()
        if found is None:
            raise ValidationError(_("No piece has the code %(code)s."), params={"code": code})
        return found


def _midnight(day: date | None, zone: ZoneInfo) -> datetime | None:
    return datetime.combine(day, time.min, zone) if day else None
