"""Labels to stick on: several on a sheet, or one on each piece of a roll."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import datetime

from shopcool.core.documents.typesetting import FOLDER, typeset_data

TEMPLATE = FOLDER / "labels.typ"


@dataclass(frozen=True)
class Sheet:
    """Paper with labels in columns and rows, everything [mm]; the block of labels stands in its middle."""

    paper_width: float
    paper_height: float
    width: float
    height: float
    columns: int = 1
    rows: int = 1
    gap: float = 0.0
    inset_x: float = 2.0
    inset_y: float = 2.0

    @property
    def count(self) -> int:
        """How many labels one page holds."""
        return self.columns * self.rows


@dataclass(frozen=True)
class Sign:
    """A shape with its words: ``high-voltage``, ``never-high-voltage`` or ``lock``."""

    shape: str
    words: str


@dataclass(frozen=True)
class Label:
    """What stands on one label. ``loud`` are the words to read from a distance, ``code`` an SVG drawing."""

    name: str
    title: str
    kind: str
    loud: tuple[str, ...]
    quiet: str
    signs: tuple[Sign, ...]
    notice: str
    code: str
    code_words: str


def typeset_labels(
    sheet: Sheet, labels: Sequence[Label], *, title: str, start: int, language: str, made_at: datetime
) -> bytes:
    """Return the PDF of labels, the first one on the place ``start`` of the first page, counted from 1.

    Raises NotTypeset.
    """
    data = {
        "title": title,
        "language": language,
        "start": start,
        "sheet": asdict(sheet),
        "labels": [asdict(label) for label in labels],
    }
    return typeset_data(TEMPLATE, data, made_at=made_at)
