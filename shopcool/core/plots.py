"""A drawing of measured points with a line, a band and a level: plain data, and where it lands on paper."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

WIDTH, HEIGHT = 640.0, 340.0
LEFT, RIGHT, TOP, BOTTOM = 76.0, 620.0, 40.0, 284.0
USUAL_TICKS = 5


@dataclass(frozen=True)
class Mark:
    """One measured point; ``beyond`` says that the instrument only knew that it is more."""

    x: float
    y: float
    beyond: bool = False


@dataclass(frozen=True)
class Level:
    """A horizontal line to compare with, and its words."""

    y: float
    label: str


@dataclass(frozen=True)
class Plot:
    """Points over one axis, in the units their labels name.

    ``line`` are the corners of a fitted curve, ``band`` (x, low, high) what the curve may be instead,
    ``x_ticks`` the places along the lower axis that have words of their own.
    """

    title: str
    x_label: str
    y_label: str
    marks: tuple[Mark, ...]
    line: tuple[tuple[float, float], ...] = ()
    band: tuple[tuple[float, float, float], ...] = ()
    level: Level | None = None
    x_ticks: tuple[tuple[float, str], ...] = ()
    logarithmic: bool = False

    def as_record(self) -> dict[str, object]:
        """Return the drawing as JSON carries it."""
        return asdict(self)

    @classmethod
    def from_record(cls, record: Mapping[str, Any]) -> Plot:
        """Return a stored drawing."""
        level = record["level"]
        return cls(
            title=record["title"],
            x_label=record["x_label"],
            y_label=record["y_label"],
            marks=tuple(Mark(**mark) for mark in record["marks"]),
            line=tuple((x, y) for x, y in record["line"]),
            band=tuple((x, low, high) for x, low, high in record["band"]),
            level=Level(**level) if level else None,
            x_ticks=tuple((x, label) for x, label in record["x_ticks"]),
            logarithmic=record["logarithmic"],
        )


@dataclass(frozen=True)
class Tick:
    """A place on an axis [px] with its words, and the end of them that stays put at the edge of the sheet."""

    at: float
    label: str
    anchor: str = "middle"


@dataclass(frozen=True)
class Drawing:
    """A plot on its sheet [px]: everything a template only has to write down."""

    plot: Plot
    marks: tuple[Mark, ...]
    line: str
    band: str
    level: float | None
    x_ticks: tuple[Tick, ...]
    y_ticks: tuple[Tick, ...]
    width: float = WIDTH
    height: float = HEIGHT
    left: float = LEFT
    right: float = RIGHT
    top: float = TOP
    bottom: float = BOTTOM


def drawn(plot: Plot) -> Drawing:
    """Return a plot with every point on its sheet. Raises ValueError without a point."""
    if not plot.marks:
        raise ValueError("A drawing needs at least one point.")
    across = _Axis.over(_all_x(plot), LEFT, RIGHT)
    up = _Axis.over(_all_y(plot), BOTTOM, TOP, logarithmic=plot.logarithmic, margin=True)
    outline = [(x, high) for x, _low, high in plot.band] + [(x, low) for x, low, _high in plot.band[::-1]]
    return Drawing(
        plot=plot,
        marks=tuple(Mark(across.place(mark.x), up.place(mark.y), mark.beyond) for mark in plot.marks),
        line=_path(plot.line, across, up),
        band=_path(outline, across, up),
        level=up.place(plot.level.y) if plot.level else None,
        x_ticks=tuple(_named(across.place(x), label) for x, label in plot.x_ticks) or across.ticks(),
        y_ticks=up.ticks(),
    )


def _named(at: float, label: str) -> Tick:
    edges = {LEFT: "start", RIGHT: "end"}
    return Tick(at, label, edges.get(at, "middle"))


def _all_x(plot: Plot) -> list[float]:
    return [mark.x for mark in plot.marks] + [x for x, _y in plot.line] + [x for x, _low, _high in plot.band]


def _all_y(plot: Plot) -> list[float]:
    level = [plot.level.y] if plot.level else []
    band = [value for _x, low, high in plot.band for value in (low, high)]
    return [mark.y for mark in plot.marks] + [y for _x, y in plot.line] + band + level


def _path(corners: Iterable[tuple[float, float]], across: _Axis, up: _Axis) -> str:
    return " ".join(f"{across.place(x):.1f},{up.place(y):.1f}" for x, y in corners)


@dataclass(frozen=True)
class _Axis:
    """One axis: values from ``low`` to ``high`` lie from ``start`` to ``end`` [px]."""

    low: float
    high: float
    start: float
    end: float
    logarithmic: bool

    @classmethod
    def over(
        cls,
        values: Sequence[float],
        start: float,
        end: float,
        *,
        logarithmic: bool = False,
        margin: bool = False,
    ) -> _Axis:
        low, high = min(values), max(values)
        if logarithmic:
            # A value on a whole decade gets room on its far side, so that no line hides the axis.
            low = 10.0 ** (math.ceil(math.log10(low) - 1e-9) - 1)
            high = 10.0 ** (math.floor(math.log10(high) + 1e-9) + 1)
        elif margin:
            room = 0.08 * (high - low) or 0.1 * abs(high) or 1.0
            low, high = low - room, high + room
        elif high <= low:
            low, high = low - 0.5, high + 0.5
        return cls(low, high, start, end, logarithmic)

    def place(self, value: float) -> float:
        """Return where a value lies [px], kept on the sheet."""
        low, high = self._scaled(self.low), self._scaled(self.high)
        share = (self._scaled(value) - low) / (high - low)
        return round(self.start + min(max(share, 0.0), 1.0) * (self.end - self.start), 1)

    def ticks(self) -> tuple[Tick, ...]:
        """Return round values along the axis."""
        return tuple(Tick(self.place(value), f"{value:,.6g}") for value in self._round_values())

    def _scaled(self, value: float) -> float:
        return math.log10(max(value, self.low)) if self.logarithmic else value

    def _round_values(self) -> list[float]:
        if self.logarithmic:
            decades = range(round(math.log10(self.low)), round(math.log10(self.high)) + 1)
            return [10.0**decade for decade in decades][:: max(1, len(decades) // USUAL_TICKS)]
        step = _round_step((self.high - self.low) / USUAL_TICKS)
        first = math.ceil(self.low / step - 1e-9)
        last = math.floor(self.high / step + 1e-9)
        return [number * step for number in range(first, last + 1)]


def _round_step(least: float) -> float:
    decade = 10.0 ** math.floor(math.log10(least))
    return next(factor * decade for factor in (1.0, 2.0, 5.0, 10.0) if factor * decade >= least * (1 - 1e-9))
