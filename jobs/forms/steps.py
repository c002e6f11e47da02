"""The form of a step, made from its fields: it carries what was typed and shows what the rules say."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, ClassVar, cast
from uuid import UUID, uuid4

from django import forms
from django.forms import BoundField
from django.http import QueryDict
from django.utils.translation import gettext_lazy as _

from jobs.errors import KeyReused, StepTaken, ValuesInvalid
from jobs.forms.readings import Reading, ReadingInput, companions
from jobs.steps.context import StepContext, field_options
from jobs.steps.fields import OTHER_INSTRUMENT, FieldKind, FieldSpec
from shopcool.core.errors import DomainError
from shopcool.core.forms import add_domain_error

TILES_AT_MOST = 8
SHORT_ANSWER, ANSWERS_IN_A_HALF = 8, 2
OPTIONAL_AT_MOST = 12
#: What a link may fill in: a choice among known answers, never a number or words.
OFFERED = frozenset({FieldKind.CHOICE, FieldKind.YES_NO, FieldKind.PIECE})


class CarriedField(forms.Field):
    """A field that keeps what was typed; the rules of its step judge it, for pages and API alike."""

    def clean(self, value: Any) -> Any:
        """Return the value as it came."""
        return value


@dataclass(frozen=True)
class ShownField:
    """A field of a step as the page lays it out."""

    bound: BoundField
    spec: FieldSpec
    is_wide: bool
    is_folded: bool


class StepForm(forms.Form):
    """The fields of one step with a note, and one key for each form that is filled in.

    Its own fields begin with ``form_``, so that no step's field has the name of one of them.
    """

    #: How the services name what stands in the form's own fields.
    blamed: ClassVar[dict[str, str]] = {"occurred_at": "form_time", "note": "form_note"}

    #: Whether an instrument that is the only one of its kind stands chosen on a fresh form.
    takes_the_only_one: ClassVar[bool] = True

    use_required_attribute = False
    submission_key = forms.UUIDField(widget=forms.HiddenInput, required=False)
    form_seen = forms.IntegerField(widget=forms.HiddenInput, min_value=0, required=False)
    form_time = forms.DateTimeField(
        label=_("When it was done"),
        required=False,
        help_text=_("Only if it was earlier than now."),
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
        input_formats=["%Y-%m-%dT%H:%M"],
    )
    form_note = forms.CharField(
        label=_("Note"), required=False, max_length=1000, widget=forms.Textarea(attrs={"rows": 2})
    )

    def __init__(
        self,
        specs: Sequence[FieldSpec],
        context: StepContext,
        data: QueryDict | None = None,
        *,
        seen: int = 0,
        values: Mapping[str, Any] | None = None,
        units: Mapping[str, str] | None = None,
    ) -> None:
        initial = {spec.name: _typed(spec, (values or {}).get(spec.name)) for spec in specs}
        initial |= {spec.name: self._instrument(spec, context, initial) for spec in specs if _is_tool(spec)}
        super().__init__(data, initial={**initial, "submission_key": str(uuid4()), "form_seen": seen})
        self.now_seen = seen
        self.refused_with = 0
        self.specs = specs
        for spec in specs:
            self.fields[spec.name] = _field(spec, context, units or {})

    def offer(self, answers: Mapping[str, str]) -> None:
        """Fill in choices that a link brings along; the person still decides."""
        choices = {spec.name for spec in self.specs if spec.kind in OFFERED}
        self.initial.update({name: value for name, value in answers.items() if name in choices})

    def _instrument(self, spec: FieldSpec, context: StepContext, initial: Mapping[str, Any]) -> str:
        """Return what stands chosen: what was recorded, the only one that may be used, or another."""
        if initial[spec.name]:
            return str(initial[spec.name])
        kinds = spec.pieces.kinds if spec.pieces else frozenset()
        fit = [one for one in context.instruments if one.kind in kinds and not one.why_not]
        return str(fit[0].id) if len(fit) == 1 and self.takes_the_only_one else OTHER_INSTRUMENT

    @property
    def raw(self) -> dict[str, Any]:
        """What was typed, flat, as the services read it."""
        return {name: value for spec in self.specs for name, value in self._sent(spec)}

    @property
    def key(self) -> UUID:
        """The key of this filled-in form; a form that came without one gets a new one."""
        return self.cleaned_data.get("submission_key") or uuid4()

    @property
    def seen_before(self) -> int:
        """How many records of the step this form knew about when it was opened."""
        return self.cleaned_data.get("form_seen") or 0

    @property
    def wrong_fields(self) -> list[BoundField]:
        """The fields that a refusal blames."""
        return [bound for bound in self.visible_fields() if bound.errors]

    @property
    def has_more(self) -> bool:
        """Whether the folded part holds something to look at."""
        folded = [self[name] for name in ("form_note", "form_time") if name in self.fields]
        return any(bound.value() or bound.errors for bound in folded)

    @property
    def main_fields(self) -> list[ShownField]:
        """The fields that stand in sight: all of a short step, what a long one can't do without."""
        return [field for field in self._shown if not field.is_folded]

    @property
    def folded_fields(self) -> list[ShownField]:
        """What a long step only asks for if it is at hand."""
        return [field for field in self._shown if field.is_folded]

    @property
    def is_unfolded(self) -> bool:
        """Whether a folded field holds something to look at."""
        return any(field.bound.errors or _is_filled(field.bound.value()) for field in self.folded_fields)

    @cached_property
    def _shown(self) -> list[ShownField]:
        optional = [spec for spec in self.specs if not spec.required]
        folds = len(optional) > OPTIONAL_AT_MOST
        return [
            ShownField(
                bound=self[spec.name],
                spec=spec,
                is_wide=_needs_width(self.fields[spec.name].widget),
                is_folded=folds and not spec.required and not _is_tool(spec),
            )
            for spec in self.specs
        ]

    @property
    def status(self) -> int:
        """The HTTP status of a page that shows the form."""
        if not self.is_bound:
            return 200
        return self.refused_with or 422

    def refuse(self, error: DomainError) -> None:
        """Put a refusal beside the fields that it blames, or on top of the form."""
        if isinstance(error, ValuesInvalid):
            for name, sentences in error.fields.items():
                blamed = self.blamed.get(name, name)
                self.add_error(blamed if blamed in self.fields else None, sentences)
            return
        error.field = self.blamed.get(error.field, "")
        add_domain_error(self, error)
        self.refused_with = error.status
        if isinstance(error, KeyReused | StepTaken):
            self._open_again()

    def _open_again(self) -> None:
        """Let the form be sent once more: with a new key, and knowing what was recorded meanwhile."""
        data = cast(QueryDict, self.data).copy()
        data["submission_key"], data["form_seen"] = str(uuid4()), str(self.now_seen)
        self.data = data

    def _sent(self, spec: FieldSpec) -> Iterator[tuple[str, Any]]:
        data = self.data
        if spec.kind is FieldKind.MULTI:
            yield spec.name, data.getlist(spec.name)  # type: ignore[attr-defined]
            return
        yield spec.name, data.get(spec.name, "")
        if spec.kind is FieldKind.QUANTITY:
            yield from ((name, data[name]) for name in companions(spec.name) if data.get(name))


class ClosingForm(StepForm):
    """The form that closes a job: its remarks are a field of the step, and it happens now."""

    form_time = None  # type: ignore[assignment]
    form_note = None  # type: ignore[assignment]


class CorrectionForm(StepForm):
    """The form of a step whose record was wrong, with the reason that stays beside the correction.

    A correction keeps the time of what it corrects.
    """

    blamed: ClassVar[dict[str, str]] = {**StepForm.blamed, "reason": "form_reason"}
    takes_the_only_one: ClassVar[bool] = False

    form_time = None  # type: ignore[assignment]
    form_reason = forms.CharField(
        label=_("Why the record is corrected"),
        max_length=300,
        help_text=_("Both records stay, with this reason between them."),
        widget=forms.Textarea(attrs={"rows": 2}),
    )


def _is_tool(spec: FieldSpec) -> bool:
    return spec.kind is FieldKind.INSTRUMENT


def _is_filled(value: Any) -> bool:
    return bool(value.text if isinstance(value, Reading) else value)


def _needs_width(widget: forms.Widget) -> bool:
    if isinstance(widget, forms.RadioSelect | forms.CheckboxSelectMultiple):
        labels = [str(label) for _value, label in widget.choices]
        return len(labels) > ANSWERS_IN_A_HALF or any(len(label) > SHORT_ANSWER for label in labels)
    return isinstance(widget, forms.Textarea)


def _field(spec: FieldSpec, context: StepContext, units: Mapping[str, str]) -> forms.Field:
    unit = units.get(spec.name) or context.unit_of(spec)
    widget = _widget(spec, unit, field_options(spec, context))
    return CarriedField(label=spec.label, help_text=spec.help, required=spec.required, widget=widget)


def _widget(spec: FieldSpec, unit: str, options: Sequence[tuple[str, Any]]) -> forms.Widget:
    if spec.kind is FieldKind.QUANTITY:
        return ReadingInput(spec, unit)
    if spec.kind is FieldKind.LONG_TEXT:
        return forms.Textarea(attrs={"rows": 3})
    if spec.kind is FieldKind.MULTI:
        return forms.CheckboxSelectMultiple(choices=options)
    if spec.kind is FieldKind.DATE:
        return forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    if spec.kind is FieldKind.TEXT:
        return forms.TextInput(attrs={"autocomplete": "off"})
    if len(options) > TILES_AT_MOST:
        return forms.Select(choices=[("", _("Choose")), *options])
    return forms.RadioSelect(choices=options)


def _typed(spec: FieldSpec, stored: Any) -> Any:
    """Return a stored value as the field shows it."""
    if stored is None:
        return None
    if spec.kind is FieldKind.QUANTITY:
        return Reading.of_record(stored)
    if spec.kind is FieldKind.YES_NO:
        return "yes" if stored else "no"
    named = {FieldKind.PIECE, FieldKind.LOT, FieldKind.INSTRUMENT}
    return str(stored["id"]) if spec.kind in named else stored
