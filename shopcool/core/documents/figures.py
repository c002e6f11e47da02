"""Drawings on paper: lines, areas, signs and letters, told apart in black ink."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from shopcool.core.plots import Drawing, Mark, Plot, drawn

#: More points than this would hide the line through them, and become specks.
MOST_DOTS = 40
Corners = tuple[tuple[float, float], ...]


class Pen(StrEnum):
    """How a line is drawn; lines differ by weight and dash."""

    GRID = "grid"
    AXIS = "axis"
    THIN = "thin"
    CURVE = "curve"
    HEAVY = "heavy"
    DASHED = "dashed"
    LEVEL = "level"


class Shade(StrEnum):
    """How an area is filled."""

    BAND = "band"
    LIGHT = "light"
    DARK = "dark"
    EMPTY = "empty"


class Shape(StrEnum):
    """The form of a measured point."""

    DOT = "dot"
    RING = "ring"
    SQUARE = "square"
    TRIANGLE = "triangle"
    SPECK = "speck"


@dataclass(frozen=True)
class Stroke:
    """A line through its corners; ``inside`` cuts it off at the frame of the figure."""

    corners: Corners
    pen: Pen
    inside: bool = False


@dataclass(frozen=True)
class Area:
    """A filled polygon."""

    corners: Corners
    shade: Shade


@dataclass(frozen=True)
class Sign:
    """One point."""

    x: float
    y: float
    shape: Shape


@dataclass(frozen=True)
class Letters:
    """Words on a drawing: their baseline, and which end stays put; ``bare`` ones stand on blank paper."""

    x: float
    y: float
    text: str
    anchor: str = "start"
    strong: bool = False
    bare: bool = False
    upright: bool = False


@dataclass(frozen=True)
class KeyEntry:
    """What a line and its points mean."""

    pen: Pen
    shape: Shape
    label: str


@dataclass(frozen=True)
class Figure:
    """A drawing in its own coordinates; ``told`` says in words what it shows, for who can't see it.

    ``frame`` is left, top, right, bottom of the plotted area.
    """

    title: str
    told: str
    width: float
    height: float
    frame: tuple[float, float, float, float]
    areas: tuple[Area, ...] = ()
    strokes: tuple[Stroke, ...] = ()
    signs: tuple[Sign, ...] = ()
    letters: tuple[Letters, ...] = ()
    key: tuple[KeyEntry, ...] = ()


def corners(points: str) -> Corners:
    """Return the corners that a drawing wrote as ``x,y x,y``."""
    pairs = (pair.split(",") for pair in points.split())
    return tuple((float(x), float(y)) for x, y in pairs)


def figure_of_plot(plot: Plot) -> Figure:
    """Return measured points with their line, band and level, as a page shows them."""
    sheet = drawn(plot)
    return Figure(
        title=plot.title,
        told=_told(plot),
        width=sheet.width,
        height=sheet.height,
        frame=(sheet.left, sheet.top, sheet.right, sheet.bottom),
        areas=(Area(corners(sheet.band), Shade.BAND),) if sheet.band else (),
        strokes=tuple(_strokes(sheet)),
        signs=tuple(Sign(mark.x, mark.y, _shape(mark, len(sheet.marks))) for mark in sheet.marks),
        letters=tuple(_letters(sheet)),
    )


def _shape(mark: Mark, number: int) -> Shape:
    if mark.beyond:
        return Shape.TRIANGLE
    return Shape.DOT if number <= MOST_DOTS else Shape.SPECK


def _strokes(sheet: Drawing) -> list[Stroke]:
    across = (sheet.left, sheet.right)
    found = [Stroke(tuple((x, tick.at) for x in across), Pen.GRID) for tick in sheet.y_ticks]
    found += [
        Stroke(((tick.at, sheet.bottom), (tick.at, sheet.bottom + 6.0)), Pen.AXIS) for tick in sheet.x_ticks
    ]
    found.append(Stroke(tuple((x, sheet.bottom) for x in across), Pen.AXIS))
    if sheet.level is not None:
        found.append(Stroke(((sheet.left, sheet.level), (sheet.right, sheet.level)), Pen.LEVEL))
    if sheet.line:
        found.append(Stroke(corners(sheet.line), Pen.CURVE))
    return found


def _letters(sheet: Drawing) -> list[Letters]:
    plot = sheet.plot
    found = [Letters(sheet.left - 10.0, tick.at + 5.0, tick.label, "end") for tick in sheet.y_ticks]
    found += [Letters(tick.at, sheet.bottom + 24.0, tick.label, tick.anchor) for tick in sheet.x_ticks]
    found.append(Letters(8.0, 20.0, plot.y_label, strong=True))
    found.append(Letters(sheet.right, sheet.height - 8.0, plot.x_label, "end", strong=True))
    if plot.level and sheet.level is not None:
        found.append(Letters(sheet.right, sheet.level - 8.0, plot.level.label, "end", bare=True))
    return [one for one in found if one.text]


def _told(plot: Plot) -> str:
    first, last = plot.marks[0], plot.marks[-1]
    name = plot.x_label or "…"
    ends = f"{plot.y_label}: {first.y:.4g} … {last.y:.4g}; {name}: {first.x:.4g} … {last.x:.4g}"
    return f"{plot.title}. {ends}"
