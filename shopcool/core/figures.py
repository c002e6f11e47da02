"""Figures in sentences: what the numbers of a text mean, so that it can be told in other units later.

A text on record never changes. What its figures mean is written beside it; whoever reads in other units gets
each figure in theirs, with the recorded one in brackets.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from shopcool.engineering.quantities import STANDARD_ATMOSPHERE_PA, Kind

#: What people read in units of their choice; everybody is told volts, ohms and minutes alike.
TOLD_APART = frozenset(
    {
        Kind.PRESSURE,
        Kind.PRESSURE_DIFFERENCE,
        Kind.TEMPERATURE,
        Kind.TEMPERATURE_DIFFERENCE,
        Kind.MASS,
        Kind.VOLUME,
    }
)


@dataclass(frozen=True)
class Figure:
    """A number as it stands in a text, and what it means in SI.

    Pressures are absolute [Pa], with the basis they were told on and the air pressure there [Pa].
    """

    text: str
    si: float
    kind: Kind
    basis: str = ""
    atmosphere_pa: float = STANDARD_ATMOSPHERE_PA

    def as_record(self) -> dict[str, object]:
        """Return the figure as JSON carries it."""
        return {
            "text": self.text,
            "si": self.si,
            "kind": self.kind.value,
            "basis": self.basis,
            "air": self.atmosphere_pa,
        }

    @classmethod
    def from_record(cls, record: Mapping[str, Any]) -> Figure:
        """Return a stored figure."""
        kind, air = Kind(record["kind"]), float(record["air"])
        return cls(record["text"], float(record["si"]), kind, record["basis"], air)


def figures_in(told: Sequence[Figure], texts: Iterable[str]) -> tuple[Figure, ...]:
    """Return which figures stand in the texts, each once.

    One that could mean two things, a temperature or a difference, is left out: it stays as it was written.
    """
    known = {figure.text: figure for figure in told if figure.kind in TOLD_APART}
    meanings = {(figure.text, figure.kind, figure.basis) for figure in told}
    clear = [text for text in known if sum(one[0] == text for one in meanings) == 1]
    standing = set(re.findall(_pattern(clear), "\n".join(texts))) if clear else set()
    return tuple(known[text] for text in clear if text in standing)


def retell(text: str, figures: Sequence[Figure], shown: Callable[[Figure], str]) -> str:
    """Return a text with each figure as ``shown`` tells it, and as it was recorded in brackets."""
    known = {figure.text: figure for figure in figures}
    if not known:
        return text

    def told(match: re.Match[str]) -> str:
        recorded = match.group()
        mine = shown(known[recorded])
        return recorded if mine == recorded else f"{mine} ({recorded})"

    return re.sub(_pattern(known), told, text)


def _pattern(texts: Iterable[str]) -> str:
    """Return what finds whole figures: 5 g neither in 15 g nor in 5 gauges, 5 psi not in 5 psi(a)."""
    longest_first = sorted(texts, key=len, reverse=True)
    return rf"(?<![\w.,])(?:{'|'.join(map(re.escape, longest_first))})(?![\w(])"
