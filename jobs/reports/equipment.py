"""What was on the vehicle, when and by whom, and the line purges with their readings."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from django.utils.translation import gettext as _

from equipment.models import Connection, Purge
from equipment.pages.readings import duration_words, finding_words, limit_words, vacuum_words
from equipment.purging import PurgeMethod
from jobs.reports.gathering import Gathered
from jobs.reports.words import labelled, moment_words, proof_words, stamp_of, tone_word
from shopcool.core.documents import Entry, Fact, Remark, Section, Table, Tone
from shopcool.engineering.quantities import Kind
from shopcool.shop.units import Units
from shopcool.vehicles.choices import Refrigerant


def connections_section(gathered: Gathered) -> Section:
    """Return one row for each time a piece was on the vehicle."""
    columns = (_("Piece"), _("Connected"), _("Disconnected"), _("Last line purge before"))
    rows = tuple(_connection(gathered, row) for row in gathered.connections)
    text = "" if rows else _("Nothing was connected to the vehicle on this job.")
    tables = (Table(columns, (5, 4, 4, 4), rows),) if rows else ()
    return Section(_("What was on the vehicle"), text, tables=tables)


def purges_section(gathered: Gathered) -> Section:
    """Return the line purges of this job, whether they counted or not."""
    text = "" if gathered.purges else _("No line purge is on record for this job.")
    entries = tuple(_purge(gathered, purge) for purge in gathered.purges)
    return Section(_("Line purges"), text, entries=entries)


def _connection(gathered: Gathered, row: Connection) -> tuple[str, ...]:
    purge, ended = gathered.purged_before.get(row.piece_id), row.disconnected_at
    return (
        f"{row.piece}\n{row.piece.get_kind_display()}",
        f"{moment_words(row.connected_at)}\n{row.connected_by}",
        f"{moment_words(ended)}\n{row.disconnected_by or ''}" if ended else _("still on the vehicle"),
        f"{moment_words(purge.occurred_at)}\n{purge.recorded_by_name}" if purge else _("none on record"),
    )


def _purge(gathered: Gathered, purge: Purge) -> Entry:
    counts = purge.verified and purge.pk not in gathered.refuted
    sentences = [finding_words(finding, gathered.units) for finding in purge.findings]
    findings = [Remark(Tone.REFUSAL, _("Does not count"), sentence) for sentence in sentences]
    if purge.verified and not counts:
        sentence = _("The entry of this purge was withdrawn later.")
        findings.append(Remark(Tone.REFUSAL, _("Does not count"), sentence))
    sentence = _("The purge meets its method and clears every piece in it.")
    good = Remark(Tone.GOOD, tone_word(Tone.GOOD), sentence)
    return Entry(
        stamp=stamp_of(purge, purge.occurred_at),
        title=_("Line purge"),
        tone=Tone.GOOD if counts else Tone.REFUSAL,
        word=_("counts") if counts else _("does not count"),
        text=purge.note,
        facts=_purge_facts(gathered, purge),
        remarks=tuple(findings) or (good,),
        proof=proof_words(purge),
    )


def _purge_facts(gathered: Gathered, purge: Purge) -> tuple[Fact, ...]:
    method = PurgeMethod(**purge.method)
    return (
        Fact(_("Loop"), gathered.piece_names(purge.piece_ids)),
        Fact(_("Refrigerant"), str(Refrigerant(purge.refrigerant).label)),
        *_readings(purge, method, gathered.units),
        Fact(_("Ran to its end"), _("Yes") if purge.completed else _("No")),
        Fact(_("Method"), method.name, method.source),
    )


def _readings(purge: Purge, method: PurgeMethod, units: Units) -> Iterator[Fact]:
    names, labels = ("circulated", "duration", "final_vacuum"), _labels()
    mine, metric = _values(purge, units), _values(purge, units.metric)
    limits = limit_words(method, units)
    for name, label, value, beside, limit in zip(names, labels, mine, metric, limits, strict=True):
        typed = labelled(_("entered"), _typed(purge.readings, name))
        parts = (beside if beside != value else "", typed, limit)
        note = ", ".join(part for part in parts if part)
        yield Fact(label, value or _("not read"), note, known=bool(value))


def _labels() -> tuple[str, str, str]:
    return (_("Mass circulated"), _("Duration"), _("Final vacuum"))


def _values(purge: Purge, units: Units) -> tuple[str, str, str]:
    """Return mass, duration and vacuum in words, each empty when it was not read."""
    mass, duration, vacuum = purge.circulated_kg, purge.duration_s, purge.final_vacuum_pa
    return (
        "" if mass is None else units.shown(mass, Kind.MASS),
        "" if duration is None else duration_words(duration),
        "" if vacuum is None else vacuum_words(vacuum, units),
    )


def _typed(readings: Mapping[str, Any], name: str) -> str:
    """Return what was typed, with the unit that the field gave it."""
    stored = readings.get(name)
    if not isinstance(stored, dict):
        return ""
    typed = str(stored.get("typed", ""))
    return f"{typed} {stored.get('unit', '')}".strip() if typed[-1:].isdecimal() else typed
