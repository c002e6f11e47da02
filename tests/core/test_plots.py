"""Where a plot puts its points: inside the frame, on round ticks, whole decades on a logarithmic axis."""

from __future__ import annotations

import pytest
from django.template import Context, Template

from shopcool.core.plots import BOTTOM, LEFT, RIGHT, TOP, Level, Mark, Plot, drawn


def plot(*marks: Mark, **changes) -> Plot:
    return Plot("Title", "Time [min]", "Pressure [mbar]", marks, **changes)


class TestDrawing:
    def test_spreads_the_points_over_the_whole_width(self):
        first, last = drawn(plot(Mark(0, 1), Mark(20, 3))).marks

        assert (first.x, last.x) == (LEFT, RIGHT)
        assert TOP < last.y < first.y < BOTTOM

    def test_puts_ticks_on_round_values(self):
        drawing = drawn(plot(Mark(0, 0.5), Mark(20, 3.7)))

        assert [tick.label for tick in drawing.x_ticks] == ["0", "5", "10", "15", "20"]
        assert [tick.label for tick in drawing.y_ticks] == ["1", "2", "3"]

    def test_shows_whole_decades_on_a_logarithmic_axis(self):
        level = Level(10, "limit")

        drawing = drawn(plot(Mark(0, 550, beyond=True), Mark(1, 80), level=level, logarithmic=True))

        assert [tick.label for tick in drawing.y_ticks] == ["1", "10", "100", "1,000"]
        # Equal ratios are equal distances: the definition of a logarithmic scale.
        places = [tick.at for tick in drawing.y_ticks]
        assert places[0] - places[1] == pytest.approx(places[1] - places[2], abs=0.2)
        assert drawing.level == places[1]

    @pytest.mark.parametrize("value", [0.0, 5.0, -3.0])
    def test_of_one_point_still_has_a_frame(self, value):
        (mark,) = drawn(plot(Mark(2, value))).marks

        assert LEFT < mark.x < RIGHT
        assert TOP < mark.y < BOTTOM

    def test_without_a_point_is_refused(self):
        with pytest.raises(ValueError, match="at least one point"):
            drawn(plot())

    def test_keeps_the_words_at_the_edges_on_the_sheet(self):
        ends = drawn(plot(Mark(0, 1), Mark(1, 1), x_ticks=((0, "2 Mar 2026"), (1, "2 Mar 2027")))).x_ticks

        assert [tick.anchor for tick in ends] == ["start", "end"]


class TestPage:
    def test_draws_shapes_with_words_and_no_inline_style(self):
        chart = plot(Mark(0, 1), Mark(1, 2, beyond=True), line=((0, 1), (1, 2)), band=((0, 0, 2), (1, 1, 3)))

        html = Template("{% load components %}{% plot chart %}").render(Context({"chart": chart}))

        assert html.count('class="plot__mark"') == html.count('class="plot__beyond"') == 1
        assert 'class="plot__band"' in html
        assert 'aria-label="Title"' in html
        assert "style=" not in html


def test_a_stored_plot_comes_back_as_it_was():
    chart = plot(Mark(0, 1), line=((0, 1),), band=((0, 0, 2),), level=Level(1, "limit"), x_ticks=((0, "a"),))

    assert Plot.from_record(chart.as_record()) == chart
