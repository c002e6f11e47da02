"""The pressure–enthalpy diagram: dome, isotherms and measured cycles, as the coordinates of a drawing."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from shopcool.engineering.chart import Chart, Line, Point, chart, on_chart
from shopcool.engineering.cycle import Cycle
from shopcool.engineering.quantities import Kind, format_quantity, from_unit
from shopcool.shop.units import Units

WIDTH, HEIGHT = 720, 480
LEFT, RIGHT, TOP, BOTTOM = 76, 20, 16, 60
#: How much of the dome's width is shown as superheated gas beside it.
GAS_SHARE = 0.35
#: Specific enthalpy of one British thermal unit per pound [J/kg], exact by definition of both.
BTU_LB = 2326.0
_TICKS = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000)


@dataclass(frozen=True)
class Tick:
    """A mark on an axis: where, and its number."""

    at: float
    label: str


@dataclass(frozen=True)
class Isotherm:
    """One line of equal temperature; its label stands inside the dome, empty above the critical point."""

    points: str
    label: str
    x: float
    y: float


@dataclass(frozen=True)
class Corner:
    """A state of a cycle with its number."""

    x: float
    y: float
    number: str
    label_x: float
    label_y: float


@dataclass(frozen=True)
class CycleDrawn:
    """A measured cycle; ``manner`` tells how it is drawn: before, after or now."""

    manner: str
    label: str
    points: str
    corners: tuple[Corner, ...]
    is_numbered: bool


@dataclass(frozen=True)
class Diagram:
    """Everything the drawing consists of, in its own coordinates."""

    refrigerant: str
    dome: str
    isotherms: tuple[Isotherm, ...]
    enthalpies: tuple[Tick, ...]
    pressures: tuple[Tick, ...]
    enthalpy_label: str
    pressure_label: str
    cycles: tuple[CycleDrawn, ...]
    source: str
    width: int = WIDTH
    height: int = HEIGHT
    left: int = LEFT
    right: int = WIDTH - RIGHT
    top: int = TOP
    bottom: int = HEIGHT - BOTTOM

    @property
    def inner_width(self) -> int:
        """The width of the plotted area."""
        return self.right - self.left

    @property
    def inner_height(self) -> int:
        """The height of the plotted area."""
        return self.bottom - self.top


@dataclass(frozen=True)
class _Scale:
    """From enthalpy [J/kg] and pressure [Pa] to the drawing."""

    least_j_kg: float
    most_j_kg: float
    lowest_pa: float
    highest_pa: float

    def x(self, enthalpy_j_kg: float) -> float:
        share = (enthalpy_j_kg - self.least_j_kg) / (self.most_j_kg - self.least_j_kg)
        return round(LEFT + share * (WIDTH - LEFT - RIGHT), 1)

    def y(self, pressure_pa: float) -> float:
        share = math.log(pressure_pa / self.lowest_pa) / math.log(self.highest_pa / self.lowest_pa)
        return round(HEIGHT - BOTTOM - share * (HEIGHT - TOP - BOTTOM), 1)

    def line(self, points: Sequence[Point]) -> str:
        return " ".join(f"{self.x(point.enthalpy_j_kg)},{self.y(point.pressure_pa)}" for point in points)


def diagram_of(cycles: Sequence[tuple[str, str, Cycle]], units: Units) -> Diagram | None:
    """Return the diagram of cycles of one refrigerant, each with its manner and label; None without any."""
    if not cycles:
        return None
    background = chart(cycles[0][2].readings.refrigerant)
    scale = _scale(background, [found for _manner, _label, found in cycles])
    per_unit, unit = (BTU_LB, "Btu/lb") if units.temperature == "°F" else (1000.0, "kJ/kg")
    return Diagram(
        refrigerant=background.refrigerant.value,
        dome=scale.line((*background.boiling_line, background.critical, *reversed(background.dew_line))),
        isotherms=tuple(_isotherm(line, scale, units) for line in background.isotherms),
        enthalpies=_enthalpies(scale, per_unit),
        pressures=_pressures(scale, units.pressure),
        enthalpy_label=_("Specific enthalpy, %(unit)s") % {"unit": unit},
        pressure_label=_("Absolute pressure, %(unit)s") % {"unit": units.pressure},
        cycles=tuple(
            _drawn(manner, label, found, scale, is_numbered=number == len(cycles) - 1)
            for number, (manner, label, found) in enumerate(cycles)
        ),
        source=background.source,
    )


def _scale(background: Chart, cycles: Sequence[Cycle]) -> _Scale:
    """Return a scale that shows the dome, some gas beside it, and every cycle."""
    drawn = [point for found in cycles for point in on_chart(found).outline]
    least = background.boiling_line[0].enthalpy_j_kg
    most = max(point.enthalpy_j_kg for point in background.dew_line)
    least = min(least, *(point.enthalpy_j_kg for point in drawn))
    most = max(most + GAS_SHARE * (most - least), *(point.enthalpy_j_kg * 1.02 for point in drawn))
    return _Scale(
        least_j_kg=least,
        most_j_kg=most,
        lowest_pa=min(background.lowest_pressure_pa, *(point.pressure_pa for point in drawn)),
        highest_pa=max(background.highest_pressure_pa, *(point.pressure_pa for point in drawn)),
    )


def _isotherm(line: Line, scale: _Scale, units: Units) -> Isotherm:
    """Return an isotherm; in the dome it is level, and its temperature stands there."""
    level = next(
        (
            (first, second)
            for first, second in zip(line.points, line.points[1:], strict=False)
            if math.isclose(first.pressure_pa, second.pressure_pa, rel_tol=1e-6)
        ),
        None,
    )
    if level is None:
        return Isotherm(scale.line(line.points), "", 0.0, 0.0)
    middle = (level[0].enthalpy_j_kg + level[1].enthalpy_j_kg) / 2.0
    label = format_quantity(line.value, Kind.TEMPERATURE, units.temperature, digits=0).replace("-", "−")
    return Isotherm(scale.line(line.points), label, scale.x(middle), scale.y(level[0].pressure_pa) - 4.0)


def _enthalpies(scale: _Scale, per_unit: float) -> tuple[Tick, ...]:
    step = 50 if per_unit == 1000.0 else 20
    first = math.ceil(scale.least_j_kg / per_unit / step)
    last = math.floor(scale.most_j_kg / per_unit / step)
    return tuple(Tick(scale.x(n * step * per_unit), str(n * step)) for n in range(first, last + 1))


def _pressures(scale: _Scale, unit: str) -> tuple[Tick, ...]:
    pairs = ((number, from_unit(number, unit, Kind.PRESSURE, basis="absolute")) for number in _TICKS)
    inside = [(number, si) for number, si in pairs if scale.lowest_pa <= si <= scale.highest_pa]
    return tuple(Tick(scale.y(si), str(number)) for number, si in inside)


def _drawn(manner: str, label: str, found: Cycle, scale: _Scale, *, is_numbered: bool) -> CycleDrawn:
    measured = on_chart(found)
    corners = tuple(_corner(number, point, scale) for number, point in measured.corners)
    return CycleDrawn(manner, label, scale.line(measured.outline), corners, is_numbered)


def _corner(number: str, point: Point, scale: _Scale) -> Corner:
    """Return a corner with its number outside of the cycle."""
    x, y = scale.x(point.enthalpy_j_kg), scale.y(point.pressure_pa)
    right, low = number in {"1", "2"}, number in {"1", "4"}
    return Corner(x, y, number, x + (14.0 if right else -14.0), y + (22.0 if low else -10.0))
