"""The history as rows for a spreadsheet: one line for each entry, units in the header, nothing computed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from django.utils import timezone
from django.utils.translation import gettext as _

from equipment.history.entries import HistoryEntry, Measure
from shopcool.core.spreadsheets import Cell, csv_lines


def history_lines(entries: Iterable[HistoryEntry]) -> Iterator[str]:
    """Yield the lines of the file, its moments in the time zone that is active while it is read."""
    return csv_lines(header(), map(_row, entries))


def header() -> list[str]:
    """Return the names of the columns; none begins with the letters ID, which some programs misread."""
    return [
        _("Moment"),
        _("Topic"),
        _("Pieces"),
        _("What happened"),
        _("Verdict"),
        _("Oil"),
        _("Refrigerant"),
        *(str(measure.label) for measure in Measure),
        _("Job"),
        _("Vehicle"),
        _("Person"),
        _("Recorded"),
        _("Note"),
        _("Chain"),
        _("Entry of the chain"),
        _("SHA-256"),
    ]


def _row(entry: HistoryEntry) -> list[Cell]:
    return [
        timezone.localtime(entry.at),
        str(entry.topic.label),
        ", ".join(entry.pieces),
        entry.title,
        entry.verdict,
        entry.oils,
        entry.refrigerants,
        *(entry.measures.get(measure) for measure in Measure),
        entry.job_number,
        entry.vehicle,
        entry.who,
        timezone.localtime(entry.recorded_at) if entry.recorded_at else None,
        entry.text,
        entry.stream,
        entry.sequence,
        entry.hash,
    ]
