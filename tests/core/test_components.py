"""The components: each has a template, a tag and a sample, and says in words what its shape says."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from html import unescape
from pathlib import Path

import pytest
from django import forms
from django.core.paginator import Paginator
from django.template import Context, Template
from django.test import RequestFactory
from django.utils import translation
from hypothesis import given
from hypothesis import strategies as st

from shopcool.core import styleguide
from shopcool.core.components import drawings
from shopcool.core.components.drawings import Row, Span, Tick
from shopcool.core.components.looks import CAUTIONS, HAZARDS, MARKS, OILS, STEPS, VERDICTS
from shopcool.core.components.words import unbroken
from shopcool.core.templatetags.components import register

ROOT = Path(__file__).resolve().parents[2] / "templates"
NAMES = sorted(path.stem for path in (ROOT / "components").glob("*.html") if not path.stem.startswith("_"))
#: Tags that put themselves together, without a template.
BARE = {"shape", "field"}
START = datetime(2026, 1, 1, tzinfo=UTC)
END = START + timedelta(days=60)


def show(source: str, **context: object) -> str:
    """Render a line of a template as a page would."""
    return Template("{% load components %}" + source).render(Context(context))


def words(html: str) -> str:
    """Return what a person reads."""
    return unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html)).strip())


def tag_of(name: str) -> str:
    """Return the tag of a template; the navigation's has a longer name than its file."""
    return "navigation_bar" if name == "navigation" else name


class Reading(forms.Form):
    pressure = forms.CharField(label="Low side", help_text="As the gauge shows it.")
    drive = forms.ChoiceField(choices=[("BELT", "Belt")], widget=forms.RadioSelect)
    worn = forms.BooleanField(required=False)
    token = forms.CharField(widget=forms.HiddenInput, required=False)


class TestEveryComponent:
    @pytest.mark.parametrize("name", NAMES)
    def test_opens_with_purpose_inputs_and_example(self, name: str) -> None:
        head = (ROOT / "components" / f"{name}.html").read_text().split("{% endcomment %}")[0]

        assert head.startswith("{% comment %}\nPurpose: ")
        assert "\nInputs:  " in head
        assert re.search(rf"\nExample: .*{{% {tag_of(name)} ?.*%}}", head)

    @pytest.mark.parametrize("name", NAMES)
    def test_has_a_tag(self, name: str) -> None:
        assert tag_of(name) in register.tags

    @pytest.mark.parametrize("name", sorted(set(register.tags) - BARE))
    def test_tag_has_a_template(self, name: str) -> None:
        assert name in {tag_of(template) for template in NAMES}

    @pytest.mark.parametrize("name", [*NAMES, "field"])
    def test_has_a_sample_in_the_style_guide(self, name: str) -> None:
        samples = re.findall(r'data-sample="([^"]+)"', (ROOT / "styleguide.html").read_text())

        assert name in " ".join(samples).split()


class TestShapesAndWords:
    @pytest.mark.parametrize("kind", MARKS)
    def test_mark_stands_beside_its_word(self, kind: str) -> None:
        html = show("{% mark kind %}", kind=kind)

        assert "<svg" in html
        assert words(html) == str(MARKS[kind])

    def test_residue_names_its_oil(self) -> None:
        assert words(show('{% mark "RESIDUE" oil="POE" %}')) == "Residue POE"
        assert "<text" in show('{% mark "residue" oil="POE" size="large" %}')
        assert words(show('{% mark "clear" oil="POE" %}')) == "Clear"

    @pytest.mark.parametrize("tone", VERDICTS)
    def test_verdict_is_shape_word_and_sentence(self, tone: str) -> None:
        html = show('{% verdict tone=tone sentence="It may go on." %}{% endverdict %}', tone=tone)

        assert "<svg" in html
        assert words(html) == f"{VERDICTS[tone]} It may go on."

    @pytest.mark.parametrize("state", STEPS)
    def test_step_says_its_state(self, state: str) -> None:
        assert str(STEPS[state]) in words(
            show("{% rail steps %}", steps=[{"label": "Charge", "state": state}])
        )

    @pytest.mark.parametrize("hazard", HAZARDS)
    def test_caution_names_the_hazard_and_what_to_do(self, hazard: str) -> None:
        html = show("{% caution hazard %}", hazard=hazard)

        assert words(html) == words(f"{HAZARDS[hazard]} {CAUTIONS[hazard]}")

    def test_cautions_defer_to_those_who_decide(self) -> None:
        assert "maker’s data, local rules and licensed practice come first" in words(
            show("{% cautions hazards %}", hazards=["pressure"])
        )

    @pytest.mark.parametrize(
        ("source", "sentence"),
        [
            ('{% mark "clean" %}', "no mark 'clean'; known are clear, residue"),
            ('{% verdict tone="ok" sentence="" %}{% endverdict %}', "no verdict 'ok'"),
            ('{% caution "noise" %}', "no hazard 'noise'"),
            ("{% rail steps %}", "no state of a step 'open'"),
            ('{% button "Go" tone="blue" %}', "no button 'blue'"),
            ('{% badge "Go" tone="blue" %}', "no badge 'blue'"),
            ('{% mark "clear" size="huge" %}', "no size 'huge'"),
            ('{% quantity "Charge" 1 tone="good" %}', "no quantity 'good'"),
            ('{% skeleton kind="bars" %}', "no skeleton 'bars'"),
            ('{% card tone="loud" %}{% endcard %}', "no card 'loud'"),
            ('{% loop machine pieces state="wet" %}', "no loop 'wet'"),
            ('{% note "x" tone="loud" %}', "no tone of a note 'loud'"),
            ('{% timer "Hold" seconds=9 %}', "needs the moment it started"),
        ],
    )
    def test_unknown_kind_is_refused(self, source: str, sentence: str) -> None:
        with pytest.raises(ValueError, match=sentence):
            show(source, steps=[{"label": "Charge", "state": "open"}], machine={}, pieces=[])


class TestQuantity:
    def test_value_stands_with_unit_limit_and_source(self) -> None:
        html = show(
            '{% quantity "Charge" "0.71" "kg" limit="label: 0.55 kg" source="scale 2" tone="refusal" %}'
        )

        assert words(html) == "Charge 0.71 kg label: 0.55 kg scale 2"
        assert "<svg" in html

    def test_missing_value_is_not_zero(self) -> None:
        assert words(show('{% quantity "Subcooling" None "K" %}')) == "Subcooling not measured"
        assert words(show('{% quantity "Leak" 0 "g" %}')) == "Leak 0 g"

    def test_progress_is_a_number_for_machines_in_every_language(self) -> None:
        with translation.override("de"):
            html = show("{% progress 'Record' done=done total=1 %}", done=0.5)

        assert 'value="0.5"' in html


class TestField:
    def test_keeps_what_was_typed_beside_its_error(self) -> None:
        form = Reading({"pressure": "2o"})
        form.add_error("pressure", "“2o” is not a number.")

        html = show('{% field form.pressure unit="bar" %}', form=form)

        assert 'value="2o"' in html
        assert 'inputmode="decimal"' in html
        assert 'aria-invalid="true"' in html
        assert 'aria-describedby="id_pressure_helptext id_pressure_error"' in html
        assert 'id="id_pressure_error" data-rejected' in html
        assert words(html) == "Low side bar As the gauge shows it. “2o” is not a number."

    def test_choices_become_tiles(self) -> None:
        html = show("{% field form.drive %}", form=Reading())

        assert "<fieldset" in html
        assert 'class="tile"' in html

    def test_hidden_field_shows_nothing(self) -> None:
        assert words(show("{% field form.token %}", form=Reading())) == ""

    def test_misspelt_field_is_refused(self) -> None:
        with pytest.raises(TypeError, match="is its name misspelt"):
            show("{% field form.presure %}", form=Reading())

    def test_whole_form_shows_its_own_errors_first(self) -> None:
        form = Reading({"pressure": "2", "drive": "BELT"})
        form.add_error(None, "The machine is not connected.")

        assert words(show("{% fields form %}", form=form)).startswith(
            "The machine is not connected. Low side"
        )


class TestButton:
    def test_is_a_link_with_an_address_and_a_button_without(self) -> None:
        assert (
            show('{% button "Purge" url="/purge/" %}').strip().startswith('<a class="button" href="/purge/"')
        )
        assert 'type="submit"' in show('{% button "Purge" tone="primary" %}')

    def test_words_are_escaped(self) -> None:
        assert "&lt;b&gt;" in show("{% button label %}", label="<b>")


class TestPagination:
    def test_keeps_the_rest_of_the_query(self) -> None:
        request = RequestFactory().get("/vehicles/", {"search": "van", "page": "2"})

        html = show("{% pagination page %}", page=Paginator(range(90), 30).page(2), request=request)

        assert 'href="?search=van&amp;page=1"' in html
        assert 'href="?search=van&amp;page=3"' in html
        assert "Page 2 of 3" in html

    def test_one_page_needs_no_way(self) -> None:
        request = RequestFactory().get("/vehicles/")

        assert show("{% pagination page %}", page=Paginator([1], 30).page(1), request=request).strip() == ""


class TestExposureTimeline:
    def test_place_is_the_share_of_the_time(self) -> None:
        assert drawings.place(START + timedelta(days=15), START, END) == 25.0
        assert drawings.place(START - timedelta(days=1), START, END) == 0.0

    def test_a_timeline_without_length_is_refused(self) -> None:
        with pytest.raises(ValueError, match="needs an end after its start"):
            drawings.place(START, START, START)

    def test_an_unknown_oil_is_refused(self) -> None:
        with pytest.raises(ValueError, match="no oil class 'soap'"):
            drawings.bars([Span(START, None, "soap")], START, END)

    def test_a_bar_without_end_reaches_the_present(self) -> None:
        (drawn,) = drawings.bars([Span(START + timedelta(days=30), None, "PAG")], START, END)

        assert (drawn.x, drawn.width, drawn.word) == (50.0, 50.0, "PAG")

    def test_bars_outside_the_window_are_left_out(self) -> None:
        early = Span(START - timedelta(days=9), START - timedelta(days=8), "pag")

        assert drawings.bars([early], START, END) == []

    def test_unknown_is_hatched_within_its_bar(self) -> None:
        (drawn,) = drawings.bars([Span(START, START + timedelta(days=6), "unknown")], START, END)

        assert len(drawn.hatch) == 6
        assert all(drawn.x <= left < right <= drawn.x + drawn.width for left, right in drawn.hatch)

    @given(
        st.lists(st.tuples(st.floats(0, 59), st.floats(0.01, 20), st.sampled_from(sorted(OILS))), max_size=12)
    )
    def test_letters_above_bars_never_overlap_nor_leave_the_frame(
        self, given_spans: list[tuple[float, float, str]]
    ) -> None:
        spans = [
            Span(START + timedelta(days=at), START + timedelta(days=at + length), oil)
            for at, length, oil in given_spans
        ]

        drawn = [bar for bar in drawings.bars(spans, START, END) if bar.outside]

        starts = [
            {"start": 0.0, "middle": bar.middle - bar.word_width / 2, "end": 100 - bar.word_width}[bar.anchor]
            for bar in drawn
        ]
        ends = [start + bar.word_width for start, bar in zip(starts, drawn, strict=True)]
        assert all(start >= -1e-6 for start in starts)
        assert all(end <= 100 + 1e-6 for end in ends)
        assert all(end <= start + 1e-6 for end, start in zip(ends, starts[1:], strict=False))

    def test_drawing_says_its_words_and_numbers_in_every_language(self) -> None:
        rows = [
            Row("On a car", [Span(START, START + timedelta(days=7.5), "pag", "Van")], [Tick(END, "Purged")])
        ]

        with translation.override("de"):
            html = show(
                "{% exposure_timeline rows start=start end=end label='S-2' %}",
                rows=rows,
                start=START,
                end=END,
            )

        assert 'width="12.5%"' in html
        assert "Van PAG" in words(html)
        assert "Purged" in words(html)


class TestStyleGuide:
    def test_renders_every_component_with_its_longest_name(self) -> None:
        request = RequestFactory().get("/styleguide/")

        html = Template("{% include 'styleguide.html' %}").render(
            Context({**styleguide.context(), "request": request})
        )

        assert len(styleguide.LONG) >= 90
        assert html.count(styleguide.LONG) >= 8
        assert "Traceback" not in html


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("Injector R-134a POE", '<span>Injector <span class="nowrap">R-134a</span> POE</span>'),
        (
            "R-1234yf, R-744",
            '<span><span class="nowrap">R-1234yf</span>, <span class="nowrap">R-744</span></span>',
        ),
        ("<b>R-12</b>", '<span>&lt;b&gt;<span class="nowrap">R-12</span>&lt;/b&gt;</span>'),
        ("SR-134a, R-, J-1009", "SR-134a, R-, J-1009"),
    ],
)
def test_names_of_refrigerants_are_not_broken_at_their_hyphen(text: str, shown: str) -> None:
    assert unbroken(text) == shown
