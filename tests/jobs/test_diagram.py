"""The pressure–enthalpy diagram: right in its coordinates, drawn so that everybody can read it."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest
from django.template.loader import render_to_string

from jobs.pages.diagram import Diagram, diagram_of
from shopcool.engineering.cycle import Cycle, cycle
from shopcool.engineering.properties import Fluid
from shopcool.shop.units import Units

METRIC, US = Units(), Units(pressure="psi", temperature="°F", mass="oz", volume="US fl oz")


def measured(fluid: Fluid = Fluid.R134A, low_bar: float = 2.0, high_bar: float = 14.0) -> Cycle:
    return cycle(
        refrigerant=fluid,
        low_pressure_pa=low_bar * 1e5,
        high_pressure_pa=high_bar * 1e5,
        suction_temperature_k=283.15,
        liquid_temperature_k=308.15,
    )


def drawn(*cycles: tuple[str, str, Cycle], units: Units = METRIC) -> Diagram:
    found = diagram_of(cycles, units)
    assert found is not None
    return found


def points(line: str) -> list[tuple[float, float]]:
    return [tuple(float(part) for part in pair.split(",")) for pair in line.split()]


def at(ticks, label: str) -> float:
    return next(tick.at for tick in ticks if tick.label == label)


BEFORE = ("before", "Before", measured(low_bar=1.2, high_bar=10.0))
AFTER = ("after", "After", measured())


class TestCoordinates:
    def test_pressure_is_logarithmic(self):
        ticks = drawn(AFTER).pressures

        decade = at(ticks, "1") - at(ticks, "10")
        octave = at(ticks, "5") - at(ticks, "10")
        assert octave / decade == pytest.approx(0.30103, abs=0.002)

    def test_a_corner_lies_at_its_pressure_and_enthalpy(self):
        """R-134a, liquid at 35 °C: 249.01 kJ/kg (NIST Chemistry WebBook)."""
        diagram = drawn(AFTER)
        corners = {corner.number: corner for corner in diagram.cycles[0].corners}

        assert corners["1"].y == pytest.approx(at(diagram.pressures, "2"), abs=0.2)
        assert corners["1"].y == corners["4"].y
        assert corners["3"].x == corners["4"].x
        zero, hundred = at(diagram.enthalpies, "200"), at(diagram.enthalpies, "300")
        assert 200 + 100 * (corners["3"].x - zero) / (hundred - zero) == pytest.approx(249.0, abs=0.6)

    def test_an_isotherm_is_level_in_the_dome_and_named_there(self):
        line = next(isotherm for isotherm in drawn(AFTER).isotherms if isotherm.label == "40 °C")

        level = [y for _x, y in points(line.points) if y == pytest.approx(line.y + 4.0, abs=0.11)]
        assert len(level) == 2

    def test_every_cycle_lies_inside_the_frame(self):
        for fluid, low, high in ((Fluid.R134A, 0.8, 30.0), (Fluid.R1234YF, 2, 14), (Fluid.R744, 40, 100)):
            diagram = drawn(("now", "Now", measured(fluid, low, high)))

            for x, y in points(diagram.cycles[0].points):
                assert diagram.left <= x <= diagram.right
                assert diagram.top <= y <= diagram.bottom

    def test_american_units_are_psi_and_btu_per_pound(self):
        diagram = drawn(AFTER, units=US)

        assert diagram.pressure_label == "Absolute pressure, psi"
        assert diagram.enthalpy_label == "Specific enthalpy, Btu/lb"
        assert {"20", "50", "100", "200"} <= {tick.label for tick in diagram.pressures}
        assert "32 °F" in {isotherm.label for isotherm in diagram.isotherms}

    def test_before_and_after_share_one_chart(self):
        together = drawn(BEFORE, AFTER)

        assert [found.manner for found in together.cycles] == ["before", "after"]
        assert [found.is_numbered for found in together.cycles] == [False, True]

    def test_nothing_measured_is_nothing_drawn(self):
        assert diagram_of([], METRIC) is None


class TestDrawing:
    html = staticmethod(lambda *cycles: render_to_string("jobs/_diagram.html", {"diagram": drawn(*cycles)}))

    def test_is_well_formed_and_named_for_those_who_do_not_see_it(self):
        svg = re.search(r"<svg class=\"diagram__drawing.*?</svg>", self.html(BEFORE, AFTER), re.DOTALL)

        root = ElementTree.fromstring(svg.group())

        assert root.get("role") == "img"
        assert root.get("aria-label") == "Pressure and enthalpy of R-134a with the measured cycle"
        assert len(root.findall(".//polyline[@class='diagram__dome']")) == 1

    def test_tells_before_from_after_by_shape_and_word(self):
        html = self.html(BEFORE, AFTER)

        assert html.count("diagram__corner--before") == html.count("<circle") == 5
        assert re.search(r"</svg>Before</span>", html)
        assert re.search(r"</svg>After</span>", html)

    def test_carries_no_style_and_no_script_of_its_own(self):
        html = self.html(AFTER)

        assert "style=" not in html
        assert "<script" not in html
