"""The drawings in the record of a job: the cycle, the balance of the charge, the vacuum."""

from __future__ import annotations

import re

import pytest

from jobs.reports.figures import figure_of_diagram
from shopcool.core.documents.figures import Pen, Shade, Shape, corners
from tests.jobs.reports.visit_told import document_of, section
from tests.jobs.test_diagram import AFTER, BEFORE, drawn


class TestCycles:
    def test_stand_beside_the_readings(self, closed_bay):
        (figure,) = section(document_of(closed_bay), "Readings before and after").figures

        assert "Pressure and enthalpy of R-1234yf with the measured cycle: After." in figure.told
        assert {letters.text for letters in figure.letters} >= {"40 °C", "Absolute pressure, bar", "1", "3"}

    def test_are_told_apart_without_colour(self):
        figure = figure_of_diagram(drawn(BEFORE, AFTER))

        assert [(entry.pen, entry.shape, entry.label) for entry in figure.key] == [
            (Pen.DASHED, Shape.RING, "Before"),
            (Pen.CURVE, Shape.SQUARE, "After"),
        ]

    def test_lie_where_the_page_draws_them(self):
        diagram = drawn(BEFORE, AFTER)

        figure = figure_of_diagram(diagram)

        drawn_on_paper = [one.corners for one in figure.strokes if one.pen in {Pen.DASHED, Pen.CURVE}]
        assert drawn_on_paper == [corners(cycle.points) for cycle in diagram.cycles]


class TestBalance:
    def test_is_drawn_to_scale_with_its_masses(self, closed_bay):
        (figure,) = section(document_of(closed_bay), "Charge balance").figures

        assert figure.told.endswith(
            ": On the label 550 g, Recovered 480 g, Charged 550 g, In the circuit afterwards 550 g"
        )
        label, recovered = (max(x for x, _y in area.corners) for area in figure.areas[:2])
        start = figure.frame[0]
        assert (recovered - start) / (label - start) == pytest.approx(480 / 550)
        assert [area.shade for area in figure.areas] == [Shade.EMPTY, Shade.LIGHT, Shade.DARK, Shade.DARK]


class TestVacuum:
    def test_stands_in_its_entry_with_the_readings_as_typed(self, closed_bay):
        entries = section(document_of(closed_bay), "The work, step by step").entries
        (vacuum,) = [entry for entry in entries if entry.figures]

        (figure,) = vacuum.figures
        assert "fitted curve" in figure.title
        assert {sign.shape for sign in figure.signs} == {Shape.SPECK}
        typed = next(fact for fact in vacuum.facts if fact.label == "Readings over time")
        assert typed.value == "61 lines, as typed:"
        assert re.match(r"min Pa · 0 90 · 1 120 ", typed.note)
