"""The result of a purge: whether it counts, what was read, and what each piece's mark has become."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import QuerySet
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _

from equipment.choices import PieceKind
from equipment.exposure import ExposureEvent, fold
from equipment.incidents import Incident
from equipment.links import job_url
from equipment.marks import Mark, mark_of
from equipment.models import Exposure, Piece, Purge
from equipment.pages.life import LATE
from equipment.pages.readings import POSITIONS, duration_words, finding_words, limit_words, vacuum_words
from equipment.pages.words import gas_words
from equipment.policies import may_see_equipment
from equipment.purging import PurgeMethod
from equipment.selectors import event_of
from shopcool.core.actors import Actor
from shopcool.engineering.quantities import Kind, Quantity, format_reading
from shopcool.shop.units import Units


@dataclass(frozen=True)
class Reading:
    """One reading: value and unit in the reader's units, its limit, and the unit it was read in."""

    label: str
    value: str
    unit: str
    limit: str
    also: str
    tone: str


@dataclass(frozen=True)
class Outcome:
    """One piece of the loop with its mark before and after."""

    name: str
    kind: str
    url: str
    before: Mark
    after: Mark


@dataclass(frozen=True)
class PurgeResult:
    """Everything the page of a purge shows. ``counts`` is false when it was refuted later on."""

    purge: Purge
    machine: Piece
    counts: bool
    is_refuted: bool
    findings: tuple[str, ...]
    readings: tuple[Reading, ...]
    outcomes: tuple[Outcome, ...]
    positions: tuple[str, ...]
    incidents: tuple[Incident, ...]
    is_late: bool
    job_url: str
    again_url: str

    @property
    def method_source(self) -> str:
        """Where the limits of the purge come from."""
        return str(self.purge.method.get("source", ""))

    @property
    def facts(self) -> list[tuple[str, str]]:
        """What was run with what, as labelled facts."""
        purge = self.purge
        pairs = [
            (_("Machine"), str(self.machine)),
            (_("Refrigerant"), gas_words([purge.refrigerant])),
            (_("How it ended"), _("ran to its end") if purge.completed else _("stopped before its end")),
            (_("Job"), purge.job_number),
            (_("Note"), purge.note),
        ]
        return [(label, value) for label, value in pairs if value]

    @property
    def tone(self) -> str:
        """The tone of the verdict."""
        return "good" if self.counts else "refusal"


def purges_visible_to(actor: Actor) -> QuerySet[Purge]:
    """Return the purges the person may see, newest first."""
    if not may_see_equipment(actor):
        return Purge.objects.none()
    return Purge.objects.select_related("machine").order_by("-occurred_at", "-pk")


def purge_result(purge: Purge, units: Units) -> PurgeResult:
    """Return a purge with its readings and the marks of its loop before and after, as known today."""
    pieces = Piece.objects.in_bulk(purge.piece_ids)
    loop = [pieces[piece_id] for piece_id in purge.piece_ids]
    exposures = list(purge.exposures.select_related("corrected_by"))
    refuted = any(hasattr(exposure, "corrected_by") for exposure in exposures)
    incidents = Incident.objects.filter(exposure__purge=purge).select_related("circuit__vehicle")
    return PurgeResult(
        purge=purge,
        machine=purge.machine,
        counts=purge.verified and not refuted,
        is_refuted=purge.verified and refuted,
        findings=tuple(finding_words(finding, units) for finding in purge.findings),
        readings=_readings(purge, units),
        outcomes=_outcomes(loop, purge.occurred_at),
        positions=tuple(
            str(words) for code, words in POSITIONS if code in purge.readings.get("positions", [])
        ),
        incidents=tuple(incidents.order_by("pk")),
        is_late=purge.recorded_at - purge.occurred_at > LATE,
        job_url=job_url(purge.job_number),
        again_url=_again(purge),
    )


def _again(purge: Purge) -> str:
    query: dict[str, int | str | list[int]] = {
        "machine": purge.machine_id,
        "pieces": [piece_id for piece_id in purge.piece_ids if piece_id != purge.machine_id],
        "job": purge.job_number,
    }
    return f"{reverse('equipment:purge')}?{urlencode(query, doseq=True)}"


# --- marks ------------------------------------------------------------------------------------------


def _outcomes(loop: Sequence[Piece], moment: datetime) -> tuple[Outcome, ...]:
    lives = _lives([piece.pk for piece in loop], until=moment)
    return tuple(_outcome(piece, lives[piece.pk], moment) for piece in loop)


def _lives(piece_ids: Sequence[int], until: datetime) -> dict[int, list[ExposureEvent]]:
    rows = Exposure.objects.filter(piece_id__in=piece_ids, occurred_at__lte=until).select_related("corrects")
    lives: dict[int, list[ExposureEvent]] = defaultdict(list)
    for row in rows.order_by("occurred_at", "sequence"):
        lives[row.piece_id].append(event_of(row, row.corrects.sequence if row.corrects else None))
    return lives


def _outcome(piece: Piece, events: Sequence[ExposureEvent], moment: datetime) -> Outcome:
    return Outcome(
        name=str(piece),
        kind=str(PieceKind(piece.kind).label),
        url=reverse("equipment:piece", args=[piece.code]),
        before=_mark(piece, [event for event in events if event.occurred_at < moment]),
        after=_mark(piece, events),
    )


def _mark(piece: Piece, events: Sequence[ExposureEvent]) -> Mark:
    condition = fold(events)
    return mark_of(
        condition.residue,
        in_service=condition.in_service,
        dedicated_to=piece.dedicated_to,
        labelled_oil=piece.lubricant,
    )


# --- readings ---------------------------------------------------------------------------------------


def _readings(purge: Purge, units: Units) -> tuple[Reading, ...]:
    limits = limit_words(PurgeMethod(**purge.method), units)
    codes = {finding["code"] for finding in purge.findings}
    shown = (
        "" if purge.circulated_kg is None else units.shown(purge.circulated_kg, Kind.MASS),
        "" if purge.duration_s is None else duration_words(purge.duration_s),
        "" if purge.final_vacuum_pa is None else vacuum_words(purge.final_vacuum_pa, units),
    )
    asked = (
        (_("Mass circulated"), "circulated", "too_little_mass"),
        (_("Duration"), "duration", "too_short"),
        (_("Final vacuum"), "final_vacuum", "vacuum_too_weak"),
    )
    return tuple(
        _reading(label, text, limit, purge.readings.get(name), fails=code in codes)
        for (label, name, code), text, limit in zip(asked, shown, limits, strict=True)
    )


def _reading(label: str, text: str, limit: str, typed: dict[str, Any] | None, *, fails: bool) -> Reading:
    value, _space, unit = text.partition(" ")
    also = "" if typed is None or unit.startswith(typed["unit"]) else _as_typed(typed)
    return Reading(label, value, unit, limit, also, "refusal" if fails else "")


def _as_typed(typed: dict[str, Any]) -> str:
    return format_reading(Quantity.from_record(typed))
