"""Rows as comma-separated values that a spreadsheet opens as they are meant.

Numbers stay numbers, with a dot whatever the language; moments are ISO 8601 with their offset; and a text
that a spreadsheet would take for a formula is marked as text (the trade knows this as CSV injection).
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime
from decimal import Decimal
from itertools import chain

Cell = str | int | float | Decimal | date | datetime | None

#: Without it spreadsheets read UTF-8 as the code page of the machine.
BYTE_ORDER_MARK = "\ufeff"
#: What begins a formula or a command, also in its full-width forms, as OWASP lists it ("CSV Injection").
_FORMULA = re.compile(r"\s*[=+\-@\t\r\n\uff1d\uff0b\uff0d\uff20]|[\t\r\n]")
_NUMBER = re.compile(r"[+-]?\d+([.,]\d+)?")


class _Line:
    """A file that keeps the last line written to it."""

    def __init__(self) -> None:
        self.text = ""

    def write(self, text: str) -> None:
        """Take a whole line."""
        self.text = text


def csv_lines(header: Sequence[str], rows: Iterable[Sequence[Cell]]) -> Iterator[str]:
    """Yield the lines of a file, the byte order mark first; nothing is held back, so it can be streamed."""
    line = _Line()
    writer = csv.writer(line, lineterminator="\r\n")
    yield BYTE_ORDER_MARK
    for cells in chain([header], rows):
        writer.writerow([shown(cell) for cell in cells])
        yield line.text


def shown(cell: Cell) -> str:
    """Return a cell as it stands in the file."""
    if cell is None:
        return ""
    if isinstance(cell, datetime):
        return cell.isoformat(timespec="seconds")
    if isinstance(cell, date):
        return cell.isoformat()
    if isinstance(cell, str):
        return _text(cell)
    return format(cell, "f") if isinstance(cell, Decimal) else repr(cell)


def _text(text: str) -> str:
    """Return a text that no spreadsheet computes; a plain number that was typed as a text stays one."""
    if _NUMBER.fullmatch(text) or not _FORMULA.match(text):
        return text
    return f"'{text}"
