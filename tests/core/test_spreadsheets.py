"""Files for spreadsheets: what Python's own csv module reads back, and what no program may compute."""

from __future__ import annotations

import csv
import io
from datetime import UTC, date, datetime, timedelta, timezone
from decimal import Decimal

import pytest

from shopcool.core.spreadsheets import csv_lines


def written(*rows: list[object]) -> str:
    return "".join(csv_lines(["Moment", "Mass [kg]", "Note"], rows))  # type: ignore[arg-type]


def read_back(text: str) -> list[list[str]]:
    return list(csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline="")))


class TestFile:
    def test_begins_with_the_byte_order_mark_and_a_first_cell_that_no_program_misreads(self) -> None:
        # A file that begins with ID is taken for another format (SYLK) by a spreadsheet (common practice).
        text = written()

        assert text.encode().startswith(b"\xef\xbb\xbf")
        assert not read_back(text)[0][0].upper().startswith("ID")

    def test_comes_back_as_it_went_through_an_independent_reader(self) -> None:
        moment = datetime(2026, 3, 29, 3, 5, tzinfo=timezone(timedelta(hours=2)))
        note = 'two\nlines, a "quote", a ; and ünïcödé 冷媒'

        rows = read_back(written([moment, -0.0455, note], [date(2026, 3, 29), None, ""]))

        assert rows[1] == ["2026-03-29T03:05:00+02:00", "-0.0455", note]
        assert rows[2] == ["2026-03-29", "", ""]
        assert csv.Sniffer().sniff(written([moment, 1, "x"], [moment, 2, "y"])).delimiter == ","

    def test_numbers_stay_numbers_with_a_dot(self) -> None:
        rows = read_back(written(["", Decimal("0.4500"), ""], ["", 1e-7, ""], ["", -12, ""], ["", 0, ""]))

        assert [float(row[1]) for row in rows[1:]] == [0.45, 1e-7, -12.0, 0.0]
        assert rows[1][1] == "0.4500"

    def test_every_line_ends_as_the_standard_says(self) -> None:
        # RFC 4180, section 2: lines end with CRLF, and fields with a line break are quoted.
        text = written(["", 1, "a\nb"])

        assert text.endswith('"a\nb"\r\n')


class TestFormula:
    @pytest.mark.parametrize(
        "text",
        ["=1+1", "+1+1", "-1+1", "@SUM(A1)", "\t=1", "\r=1", "  =1", "\uff1d1", "-", "\n=1"],
    )
    def test_is_marked_as_a_text(self, text: str) -> None:
        # The characters are those of OWASP, "CSV Injection".
        (row,) = read_back(written(["", None, text]))[1:]

        assert row[2] == f"'{text}"

    @pytest.mark.parametrize("text", ["-5", "+3.5", "-0,5", "R-134a", "a = b", "2026-0001", "'tis", ""])
    def test_is_not_seen_where_there_is_none(self, text: str) -> None:
        (row,) = read_back(written([datetime(2026, 1, 1, tzinfo=UTC), None, text]))[1:]

        assert row[2] == text
