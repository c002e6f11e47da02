"""The widgets that are put together without templates, against Django's own templates."""

from __future__ import annotations

from datetime import date, datetime
from unittest.mock import patch

import pytest
from django import forms
from django.forms.renderers import DjangoTemplates, get_default_renderer
from django.utils.safestring import mark_safe
from django.utils.translation import gettext_lazy

from shopcool.core.widgets import ANSWERS, DRAWN, FOLDER, INPUTS, WidgetRenderer

OURS, DJANGOS = WidgetRenderer(), DjangoTemplates()
ATTRS = {
    "id": "id_low",
    "rows": 2,
    "checked": True,
    "disabled": False,
    "required": None,
    "data-if": '"><script>',
    "aria-label": gettext_lazy("Unit"),
    "title": mark_safe("5&nbsp;bar"),
}
WIDGETS = [
    forms.TextInput(),
    forms.TextInput(attrs={"type": "tel"}),
    forms.NumberInput(),
    forms.EmailInput(),
    forms.URLInput(),
    forms.ColorInput(),
    forms.SearchInput(),
    forms.TelInput(),
    forms.HiddenInput(),
    forms.PasswordInput(),
    forms.PasswordInput(render_value=True),
    forms.FileInput(),
    forms.CheckboxInput(),
    forms.DateInput(),
    forms.DateTimeInput(format="%Y-%m-%dT%H:%M"),
    forms.TimeInput(),
    forms.Textarea(),
]
VALUES = [None, "", "0,55 kg", "\n<b>&\"'</b>", mark_safe("<b>"), 0, True, False, date(2026, 3, 2)]


@pytest.mark.parametrize("widget", WIDGETS, ids=lambda widget: type(widget).__name__)
class TestOneInput:
    @pytest.mark.parametrize("value", [*VALUES, datetime(2026, 3, 2, 14, 5)], ids=repr)
    def test_is_what_djangos_template_makes_of_it(self, widget: forms.Widget, value: object) -> None:
        assert widget.render("low", value, ATTRS, OURS) == widget.render("low", value, ATTRS, DJANGOS)

    def test_needs_no_template(self, widget: forms.Widget) -> None:
        with patch.object(WidgetRenderer, "get_template", side_effect=AssertionError("a template")):
            assert 'name="low"' in widget.render("low", "1", {}, OURS)


def one_line(html: str) -> str:
    """Return HTML without the line breaks that templates leave in it."""
    return " ".join(html.split())


class Choice(forms.Form):
    drive = forms.ChoiceField(
        choices=[
            ("BELT", "Belt & pulley"),
            ("ELECTRIC", gettext_lazy("Electric")),
            (2, mark_safe("<i>2</i>")),
        ],
        widget=forms.RadioSelect(attrs={"class": "wide"}),
    )
    dyes = forms.MultipleChoiceField(choices=[("UV", "Dye")], widget=forms.CheckboxSelectMultiple)
    gauge = forms.ChoiceField(choices=[("Low", [("1", "First")]), ("2", "Second")], widget=forms.Select)


class TestChoices:
    @pytest.mark.parametrize("wrap_label", [True, False])
    @pytest.mark.parametrize("auto_id", ["id_%s", False])
    @pytest.mark.parametrize("name", ["drive", "dyes"])
    def test_each_answer_is_what_djangos_template_makes_of_it(
        self, name: str, auto_id: str | bool, wrap_label: bool
    ) -> None:
        drawn = [
            [one_line(answer.tag(wrap_label)) for answer in Choice(auto_id=auto_id, renderer=renderer)[name]]
            for renderer in (OURS, DJANGOS)
        ]

        assert drawn[0] == drawn[1]
        assert "<input" in drawn[0][0]

    @pytest.mark.parametrize("name", ["drive", "dyes", "gauge"])
    def test_the_whole_keeps_its_template(self, name: str) -> None:
        assert str(Choice(renderer=OURS)[name]) == str(Choice(renderer=DJANGOS)[name])


def test_every_form_of_the_pages_is_drawn_by_it() -> None:
    assert isinstance(get_default_renderer(), WidgetRenderer)


def test_what_is_drawn_here_has_a_template_of_django() -> None:
    for name in (*INPUTS, *ANSWERS, "textarea"):
        assert f"{FOLDER}{name}.html" in DRAWN
        assert DJANGOS.get_template(f"{FOLDER}{name}.html")
