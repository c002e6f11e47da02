"""The geometry of the exposure timeline: moments become percentages of the width, labels find room."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from shopcool.core.components.looks import OILS, pick

ROW_HEIGHT = 96
BAR_HEIGHT = 28
HEAD_HEIGHT = 28
# Percent of the width that one letter needs, between the narrow and the wide frame of the style sheet.
LETTER_WIDTH = 1.5


@dataclass(frozen=True, slots=True)
class Span:
    """One bar: what the piece carried or touched from ``start`` to ``end`` (``None``: until now)."""

    start: datetime
    end: datetime | None
    oil: str
    label: str = ""


@dataclass(frozen=True, slots=True)
class Tick:
    """One moment, a purge or an inspection, drawn as a needle through the row."""

    at: datetime
    label: str = ""


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the drawing with its name, bars and ticks."""

    label: str
    spans: Sequence[Span] = ()
    ticks: Sequence[Tick] = ()


@dataclass(slots=True)
class Bar:
    """A span in percent of the width, ready to draw."""

    oil: str
    word: str
    x: float
    width: float
    title: str = ""
    outside: bool = False
    hatch: list[tuple[float, float]] = field(default_factory=list)

    @property
    def middle(self) -> float:
        """The middle of the bar [% of the width]."""
        return round(self.x + self.width / 2, 3)

    @property
    def word_width(self) -> float:
        """The room that the letters need [% of the width]."""
        return LETTER_WIDTH * (len(self.word) + 1)

    @property
    def inside(self) -> bool:
        """Whether the letters fit into the bar."""
        return self.width >= self.word_width

    @property
    def anchor(self) -> str:
        """Which end of letters above the bar stays put, so that they never leave the frame."""
        if self.middle < self.word_width / 2:
            return "start"
        return "end" if self.middle > 100 - self.word_width / 2 else "middle"

    @property
    def text_x(self) -> float:
        """The place of letters above the bar [% of the width]."""
        return {"start": 0.0, "end": 100.0}.get(self.anchor, self.middle)


def place(moment: datetime, start: datetime, end: datetime) -> float:
    """Return the place of ``moment`` between ``start`` and ``end`` [% of the width, kept in 0 to 100]."""
    if end <= start:
        raise ValueError("A timeline needs an end after its start.")
    return round(min(max((moment - start) / (end - start) * 100, 0.0), 100.0), 3)


def bar(span: Span, start: datetime, end: datetime) -> Bar:
    """Return the bar of ``span``; the unknown carries strokes of a hatch, so that it reads without colour."""
    oil = pick(OILS, span.oil, "oil class")
    left, right = place(span.start, start, end), place(span.end or end, start, end)
    drawn = Bar(oil, str(OILS[oil]), left, round(right - left, 3), title=f"{span.label} {OILS[oil]}".strip())
    if oil in {"unknown", "out"}:
        drawn.hatch = [(left + step, min(left + step + 1.0, right)) for step in _steps(right - left)]
    return drawn


def _steps(width: float) -> list[float]:
    return [1.5 * index for index in range(int(width / 1.5))]


def bars(spans: Iterable[Span], start: datetime, end: datetime) -> list[Bar]:
    """Return the bars of one row; letters of a narrow bar stand above it where there is room."""
    drawn = [
        bar(span, start, end)
        for span in sorted(spans, key=lambda span: span.start)
        if span.start < end and (span.end or end) > start
    ]
    free_from = 0.0
    for one in drawn:
        begin = min(max(one.middle - one.word_width / 2, 0.0), 100.0 - one.word_width)
        if not one.inside and begin >= free_from:
            one.outside = True
            free_from = begin + one.word_width
    return drawn


def timeline(rows: Sequence[Row], start: datetime, end: datetime) -> dict[str, object]:
    """Return everything the template draws: rows with bars and ticks, axis marks, total height [px]."""
    drawn = []
    for index, row in enumerate(rows):
        top = HEAD_HEIGHT + index * ROW_HEIGHT
        drawn.append(
            {
                "label": row.label,
                "label_y": top + 16,
                "above_y": top + 38,
                "bar_y": top + 46,
                "hatch_bottom": top + 46 + BAR_HEIGHT,
                "base_y": top + 46 + BAR_HEIGHT // 2,
                "text_y": top + 46 + BAR_HEIGHT // 2 + 6,
                "tick_top": top + 40,
                "tick_bottom": top + 46 + BAR_HEIGHT + 10,
                "bars": bars(row.spans, start, end),
                "ticks": [(place(t.at, start, end), t.label) for t in row.ticks if start <= t.at <= end],
            }
        )
    return {
        "rows": drawn,
        "height": HEAD_HEIGHT + len(rows) * ROW_HEIGHT + 8,
        "bar_height": BAR_HEIGHT,
        "axis": axis(start, end),
        "oils": present_oils(rows),
    }


def axis(start: datetime, end: datetime, parts: int = 4) -> list[dict[str, object]]:
    """Return the dates along the top, the first and last aligned to the edges."""
    anchors = ["start", *["middle"] * (parts - 1), "end"]
    step: timedelta = (end - start) / parts
    return [
        {"x": round(100 / parts * index, 3), "at": start + step * index, "anchor": anchor}
        for index, anchor in enumerate(anchors)
    ]


def present_oils(rows: Iterable[Row]) -> Mapping[str, str]:
    """Return the words of the oil classes that the drawing shows, in the order of the key."""
    shown = {pick(OILS, span.oil, "oil class") for row in rows for span in row.spans}
    return {oil: str(word) for oil, word in OILS.items() if oil in shown}
