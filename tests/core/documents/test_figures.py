"""Drawings on paper: where a page has them, told apart in black, and told in words to who can't see them."""

from __future__ import annotations

from shopcool.core.documents import Entry, Stamp
from shopcool.core.documents.figures import Pen, Shape, figure_of_plot
from shopcool.core.plots import BOTTOM, LEFT, RIGHT, TOP, Level, Mark, Plot
from tests.core.documents.reading import figures_of, fonts_of, metadata_of, text_of
from tests.core.documents.test_typesetting import set_in_pdf


def plot(*marks: Mark, **changes) -> Plot:
    return Plot("A vacuum that rose", "Time [min]", "Pressure [mbar]", marks, **changes)


class TestFigureOfPlot:
    def test_has_its_points_where_the_page_has_them(self):
        figure = figure_of_plot(plot(Mark(0, 1), Mark(20, 3)))

        first, last = figure.signs
        assert figure.frame == (LEFT, TOP, RIGHT, BOTTOM)
        assert (first.x, last.x, first.shape) == (LEFT, RIGHT, Shape.DOT)
        assert TOP < last.y < first.y < BOTTOM

    def test_tells_more_than_from_a_value_by_its_shape(self):
        beyond, value = figure_of_plot(plot(Mark(0, 550, beyond=True), Mark(1, 80), logarithmic=True)).signs

        assert (beyond.shape, value.shape) == (Shape.TRIANGLE, Shape.DOT)

    def test_does_not_bury_the_line_under_many_points(self):
        figure = figure_of_plot(plot(*(Mark(x, x) for x in range(100)), line=((0, 0), (99, 99))))

        assert {sign.shape for sign in figure.signs} == {Shape.SPECK}
        assert [stroke.pen for stroke in figure.strokes].count(Pen.CURVE) == 1


class TestPaper:
    def test_stays_archival_and_says_every_drawing_in_words(self):
        figure = figure_of_plot(
            plot(
                Mark(0, 1.2),
                Mark(20, 3.7),
                band=((0, 1, 2), (20, 3, 4)),
                level=Level(2.5, "water boils here"),
            )
        )
        entry = Entry(Stamp("10:00", "2 Mar 2026", "Tilda"), "Vacuum", figures=(figure,))

        pdf = set_in_pdf("Words.", entries=(entry,))

        # ISO 19005-2:2011, 6.6.4, and level A: ISO 32000-1, 14.9.3, alternative descriptions.
        assert "<pdfaid:conformance>A</pdfaid:conformance>" in metadata_of(pdf)
        assert all(fonts_of(pdf).values())
        said = "A vacuum that rose. Pressure [mbar]: 1.2 … 3.7; Time [min]: 0 … 20"
        assert figures_of(pdf) == [said]
        text = text_of(pdf)
        assert all(words in text for words in ("Pressure [mbar]", "Time [min]", "water boils here", "15"))
