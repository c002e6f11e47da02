"""One field of a form as HTML: label, input, unit, help and errors; choices as tiles.

Put together here instead of in a template: a step shows dozens of fields, and the nodes of a template for
each were a good part of the work of its page.
"""

from __future__ import annotations

from django.forms import BoundField, CheckboxInput, CheckboxSelectMultiple, RadioSelect, Textarea
from django.forms.boundfield import BoundWidget
from django.template.loader import render_to_string
from django.utils.translation import gettext as _

from shopcool.core.components.looks import drawing
from shopcool.core.widgets import escaped

NUMBERS = frozenset({"decimal", "numeric"})


def field_drawn(
    bound: BoundField,
    unit: str = "",
    *,
    unit_field: BoundField | None = None,
    keypad: str = "",
    note: str = "",
) -> str:
    """Return a field: hidden, a choice of tiles, one tile for a yes or no, or a box for what is typed."""
    widget = bound.field.widget
    if isinstance(widget, RadioSelect | CheckboxSelectMultiple):
        return _choice(bound, note)
    keypad = keypad or widget.attrs.get("inputmode", "") or ("decimal" if unit or unit_field else "")
    drawn = bound.as_widget(attrs={"inputmode": keypad, "autocomplete": "off"} if keypad else {})
    if bound.is_hidden:
        return drawn
    if isinstance(widget, CheckboxInput):
        return _tick(bound, drawn)
    number = " field__box--number" if keypad in NUMBERS and not isinstance(widget, Textarea) else ""
    united = " field__box--united" if unit or unit_field or getattr(widget, "has_unit", False) else ""
    return (
        f'<div class="field"><label class="field__label" for="{bound.id_for_label}">'
        f"<span>{escaped(bound.label)}</span>{_beside(bound, note)}</label>"
        f'<div class="field__box{number}{united}">{drawn}{_unit(unit, unit_field)}</div>'
        f"{_help(bound)}{_errors(bound)}{_errors(unit_field) if unit_field else ''}</div>"
    )


def _choice(bound: BoundField, note: str) -> str:
    described = bound.aria_describedby
    described_by = f' aria-describedby="{described}"' if described else ""
    return (
        f'<fieldset class="field"{described_by}>'
        f'<legend class="field__label">{escaped(bound.label)}{_beside(bound, note)}</legend>{_help(bound)}'
        f'<div class="tiles">{"".join(map(_tile, bound.subwidgets))}</div>{_errors(bound)}</fieldset>'
    )


def _tile(answer: BoundWidget) -> str:
    place = answer.id_for_label
    label_for = f' for="{place}"' if place else ""
    return f'<label class="tile"{label_for}>{answer.tag()}<span>{escaped(answer.choice_label)}</span></label>'


def _tick(bound: BoundField, drawn: str) -> str:
    help_id = f"{bound.auto_id}_helptext"
    told = (
        f'<span class="tile__note" id="{help_id}">{escaped(bound.help_text)}</span>'
        if bound.help_text
        else ""
    )
    return (
        f'<div class="field"><label class="tile" for="{bound.id_for_label}">{drawn}'
        f"<span>{escaped(bound.label)}{told}</span></label>{_errors(bound)}</div>"
    )


def _beside(bound: BoundField, note: str) -> str:
    note = note or ("" if bound.field.required else _("if known"))
    return f' <span class="field__optional">{escaped(note)}</span>' if note else ""


def _unit(unit: str, unit_field: BoundField | None) -> str:
    if unit_field is None:
        return f'<span class="field__unit">{escaped(unit)}</span>' if unit else ""
    label = f'<label class="sr-only" for="{unit_field.id_for_label}">{escaped(unit_field.label)}</label>'
    return f'<span class="field__box-unit">{label}{unit_field}</span>'


def _help(bound: BoundField) -> str:
    if not bound.help_text:
        return ""
    return f'<p class="field__help" id="{bound.auto_id}_helptext">{escaped(bound.help_text)}</p>'


def _errors(bound: BoundField) -> str:
    if bound.name not in bound.form.errors:
        return ""
    shown = {"field": bound, "warning": drawing("shapes", "warning")}
    return render_to_string("components/_field_errors.html", shown)
