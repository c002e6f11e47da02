"""What a person presses and fills in: buttons, fields, tiles, dialogs."""

from __future__ import annotations

from django.forms import BaseForm, BoundField
from django.template import Library
from django.template.loader import render_to_string
from django.utils.safestring import SafeString

from shopcool.core.components.inputs import field_drawn

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


@register.simple_tag
def field(
    bound: BoundField,
    unit: str = "",
    *,
    unit_field: BoundField | None = None,
    keypad: str = "",
    note: str = "",
) -> SafeString:
    """Show one field of a form with its label, unit, help and errors; choices become tiles.

    ``unit`` stands beside the input, or ``unit_field``, a select; ``keypad`` is decimal, numeric, text, tel,
    email or search; ``note`` stands beside the label. What was typed is kept.
    """
    if not isinstance(bound, BoundField):
        raise TypeError(f"The field tag needs a field of a form, not {bound!r}; is its name misspelt?")
    if keypad not in KEYPADS:
        raise ValueError(f"There is no keypad {keypad!r}; known are {', '.join(sorted(KEYPADS - {''}))}.")
    return SafeString(field_drawn(bound, unit, unit_field=unit_field, keypad=keypad, note=note))


@register.inclusion_tag("components/fields.html")
def fields(form: BaseForm) -> dict[str, object]:
    """Show the errors of the whole form, then every field in order."""
    return {"form": form}


@register.inclusion_tag("components/form_errors.html")
def form_errors(form: BaseForm) -> dict[str, object]:
    """Show what is wrong with the whole form, in a refusal above its fields."""
    if not form.errors:
        return {"errors": []}
    hidden = [error for bound in form.hidden_fields() for error in bound.errors]
    return {"errors": [*form.non_field_errors(), *hidden]}


@register.simple_block_tag
def confirm(
    content: str, id: str, title: str, action: str = "", tone: str = "primary", form: str = ""
) -> SafeString:
    """Ask before an act, in a dialog that a button with ``opens`` the same id shows."""
    shown = {"content": content, "id": id, "title": title, "action": action, "tone": tone, "form": form}
    return render_to_string("components/confirm.html", shown)
