"""What a person presses and fills in: buttons, fields, tiles, dialogs."""

from __future__ import annotations

from django.forms import BaseForm, BoundField, CheckboxInput, CheckboxSelectMultiple, RadioSelect, Textarea
from django.template import Library
from django.template.loader import render_to_string
from django.utils.safestring import SafeString

from shopcool.core.components.looks import drawing

register = Library()

BUTTONS = frozenset({"", "primary", "quiet", "danger"})
KEYPADS = frozenset({"", "decimal", "numeric", "text", "tel", "email", "search"})


@register.inclusion_tag("components/button.html")
def button(
    label: str,
    url: str = "",
    tone: str = "",
    *,
    name: str = "",
    value: str = "",
    size: str = "",
    opens: str = "",
    form: str = "",
    kind: str = "submit",
    disabled: bool = False,
) -> dict[str, object]:
    """Show a link that looks like a button when it has an address, a button otherwise."""
    if tone not in BUTTONS:
        raise ValueError(f"There is no button {tone!r}; known are primary, quiet, danger.")
    return {
        "label": label,
        "url": url,
        "tone": tone,
        "name": name,
        "value": value,
        "size": size,
        "opens": opens,
        "form": form,
        "kind": "button" if opens else kind,
        "disabled": disabled,
    }


@register.inclusion_tag("components/field.html")
def field(
    bound: BoundField,
    unit: str = "",
    *,
    unit_field: BoundField | None = None,
    keypad: str = "",
    note: str = "",
) -> dict[str, object]:
    """Show one field of a form with its label, unit, help and errors; choices become tiles."""
    if not isinstance(bound, BoundField):
        raise TypeError(f"The field tag needs a field of a form, not {bound!r}; is its name misspelt?")
    if keypad not in KEYPADS:
        raise ValueError(f"There is no keypad {keypad!r}; known are {', '.join(sorted(KEYPADS - {''}))}.")
    widget = bound.field.widget
    keypad = keypad or widget.attrs.get("inputmode", "") or ("decimal" if unit or unit_field else "")
    attributes = {"inputmode": keypad, "autocomplete": "off"} if keypad else {}
    shape = _field_shape(bound)
    return {
        "field": bound,
        "input": bound.as_widget(attrs=attributes) if shape in {"box", "tile"} else "",
        "shape": shape,
        "number": keypad in {"decimal", "numeric"} and not isinstance(widget, Textarea),
        "unit": unit,
        "unit_field": unit_field,
        "united": bool(unit or unit_field or getattr(widget, "has_unit", False)),
        "note": note,
        "warning": drawing("shapes", "warning") if bound.errors else "",
    }


def _field_shape(bound: BoundField) -> str:
    widget = bound.field.widget
    if bound.is_hidden:
        return "hidden"
    if isinstance(widget, RadioSelect | CheckboxSelectMultiple):
        return "tiles"
    return "tile" if isinstance(widget, CheckboxInput) else "box"


@register.inclusion_tag("components/fields.html")
def fields(form: BaseForm) -> dict[str, object]:
    """Show the errors of the whole form, then every field in order."""
    return {"form": form}


@register.inclusion_tag("components/form_errors.html")
def form_errors(form: BaseForm) -> dict[str, object]:
    """Show what is wrong with the whole form, in a refusal above its fields."""
    hidden = [error for bound in form.hidden_fields() for error in bound.errors]
    return {"errors": [*form.non_field_errors(), *hidden]}


@register.simple_block_tag
def confirm(
    content: str, id: str, title: str, action: str = "", tone: str = "primary", form: str = ""
) -> SafeString:
    """Ask before an act, in a dialog that a button with ``opens`` the same id shows."""
    shown = {"content": content, "id": id, "title": title, "action": action, "tone": tone, "form": form}
    return render_to_string("components/confirm.html", shown)
