"""How the widgets of forms become HTML.

A step has dozens of inputs, and a template for each, made of templates for their parts, was most of the
work of its page. What pages ask for most is put together here, exactly as Django's own templates do it; all
other widgets keep those templates.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from html import escape
from typing import Any

from django.forms.renderers import DjangoTemplates
from django.http import HttpRequest
from django.utils.safestring import SafeString

FOLDER = "django/forms/widgets/"
#: Templates of one input without parts.
INPUTS = (
    "checkbox", "color", "date", "datetime", "email", "file", "hidden", "input", "number", "password",
    "search", "tel", "text", "time", "url",
)  # fmt: skip
#: Templates of one answer of a choice.
ANSWERS = ("checkbox_option", "radio_option")

#: What Django tells a template of a widget: name, value, attrs, and what the kind of widget adds.
Widget = Mapping[str, Any]


class WidgetRenderer(DjangoTemplates):
    """Puts the usual widgets together without templates."""

    def render(self, template_name: str, context: dict[str, Any], request: HttpRequest | None = None) -> str:
        """Return the HTML of a widget, drawn here or by its template."""
        draw = DRAWN.get(template_name)
        return draw(context["widget"]) if draw else super().render(template_name, context, request)


def escaped(value: object) -> str:
    """Return a value as text of HTML, as a template would: what is marked safe stays as it is."""
    text = str(value)
    return text if isinstance(text, SafeString) else escape(text)


def _attributes(attributes: Mapping[str, Any]) -> str:
    """Return attributes with a space before each; True stands bare, False is left out."""
    return "".join(
        f" {name}" if value is True else f' {name}="{escaped(value)}"'
        for name, value in attributes.items()
        if value is not False
    )


def _input(widget: Widget) -> str:
    shown = {"type": widget["type"], "name": widget["name"]}
    if widget["value"] is not None:
        shown["value"] = widget["value"]
    return f"<input{_attributes(shown)}{_attributes(widget['attrs'])}>"


def _answer(widget: Widget) -> str:
    drawn, attributes = _input(widget), widget["attrs"]
    if not widget["wrap_label"]:
        return drawn
    label_for = _attributes({"for": attributes["id"]}) if attributes.get("id") else ""
    return f"<label{label_for}>{drawn} {escaped(widget['label'])}</label>"


def _textarea(widget: Widget) -> str:
    # The line break belongs to the tag: without it a text that begins with one would lose it.
    text = escaped(widget["value"] or "")
    return f"<textarea{_attributes({'name': widget['name']} | widget['attrs'])}>\n{text}</textarea>"


DRAWN: dict[str, Callable[[Widget], str]] = {
    **{f"{FOLDER}{name}.html": _input for name in INPUTS},
    **{f"{FOLDER}{name}.html": _answer for name in ANSWERS},
    f"{FOLDER}textarea.html": _textarea,
}
