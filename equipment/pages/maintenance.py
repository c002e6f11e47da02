"""What the pages show about maintenance: the plans of a piece and the work that is on record."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from django.core.paginator import Page, Paginator
from django.db.models import QuerySet
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from equipment.attachments import work_parent
from equipment.maintenance.choices import WhenOverdue, WorkOutcome
from equipment.maintenance.facts import facts_of, source_words
from equipment.maintenance.judging import findings_told
from equipment.maintenance.models import MaintenancePlan, MaintenanceRecord
from equipment.maintenance.policies import (
    may_correct_maintenance,
    may_plan_maintenance,
    may_record_maintenance,
)
from equipment.maintenance.projection import interval_of, start_of, used_of
from equipment.maintenance.rules import Limit, Measure, limits
from equipment.models import Piece
from equipment.pages.words import WORK_SOON, day_words
from shopcool.attachments.gallery import Gallery, galleries
from shopcool.core.actors import Actor
from shopcool.engineering.quantities import Kind, Quantity, format_quantity
from shopcool.shop.units import Units

RECORDS_ON_A_PAGE = 20
RECORDS_ON_THE_PIECE = 5


@dataclass(frozen=True)
class PlanRow:
    """One plan: how it stands in a word, when it is due, what remains of each limit, what to do."""

    plan: MaintenancePlan
    title: str
    source: str
    tone: str
    word: str
    due: str
    left: tuple[str, ...]
    last: str
    only_warns: bool
    record_url: str = ""
    change_url: str = ""


@dataclass(frozen=True)
class RecordRow:
    """One record of work as a person reads it."""

    record: MaintenanceRecord
    title: str
    tone: str
    day: str
    lines: tuple[str, ...]
    correction: str = ""
    correct_url: str = ""
    gallery: Gallery | None = None


@dataclass(frozen=True)
class MaintenancePart:
    """What the page of a piece shows about its maintenance."""

    plans: tuple[PlanRow, ...] = ()
    records: tuple[RecordRow, ...] = ()
    add_url: str = ""
    records_url: str = ""
    offered: bool = field(default=False)


def maintenance_part(actor: Actor, piece: Piece, today: date, units: Units) -> MaintenancePart:
    """Return the open plans of a piece, the nearest first, and the newest work on record."""
    in_use = piece.retired_at is None
    rows = (plan_row(actor, plan, today, units) for plan in open_plans(piece))
    records = tuple(records_of(piece)[: RECORDS_ON_THE_PIECE + 1])
    may_plan = in_use and may_plan_maintenance(actor)
    return MaintenancePart(
        plans=tuple(sorted(rows, key=_urgency)),
        records=record_rows(actor, records[:RECORDS_ON_THE_PIECE], units),
        add_url=reverse("equipment:plan_add", args=[piece.code]) if may_plan else "",
        records_url=reverse("equipment:piece_work", args=[piece.code])
        if len(records) > RECORDS_ON_THE_PIECE
        else "",
        offered=may_plan or bool(records),
    )


def open_plans(piece: Piece) -> QuerySet[MaintenancePlan]:
    """Return the plans of a piece that have not ended."""
    return (
        MaintenancePlan.objects.filter(piece=piece, ended_at__isnull=True)
        .select_related("piece")
        .order_by("due_on", "pk")
    )


def records_of(piece: Piece) -> QuerySet[MaintenanceRecord]:
    """Return every record of work on a piece, newest work first, corrected ones included."""
    return (
        MaintenanceRecord.objects.filter(piece=piece)
        .select_related("piece", "reference", "corrected_by")
        .order_by("-done_on", "-sequence")
    )


def records_page(
    actor: Actor, piece: Piece, units: Units, number: str
) -> tuple[tuple[RecordRow, ...], Page[Any]]:
    """Return one sheet of the work on record."""
    sheet = Paginator(records_of(piece), RECORDS_ON_A_PAGE).get_page(number)
    return record_rows(actor, list(sheet), units), sheet


def plan_row(actor: Actor, plan: MaintenancePlan, today: date, units: Units) -> PlanRow:
    """Return how one plan stands today."""
    tone, word = _standing(plan, today)
    code, in_use = plan.piece.code, plan.piece.retired_at is None
    found = limits(interval_of(plan), used_of(plan), start=start_of(plan), end=plan.due_on, today=today)
    return PlanRow(
        plan=plan,
        title=str(plan),
        source=source_words(plan),
        tone=tone,
        word=word,
        due=day_words(plan.due_on) if plan.due_on else _("by use only"),
        left=tuple(left_words(limit, units) for limit in found),
        last=day_words(plan.last_done_on) if plan.last_done_on else _("none on record"),
        only_warns=plan.when_overdue == WhenOverdue.WARN,
        record_url=_address("plan_work", code, plan.pk) if in_use and may_record_maintenance(actor) else "",
        change_url=_address("plan_change", code, plan.pk) if in_use and may_plan_maintenance(actor) else "",
    )


def left_words(limit: Limit, units: Units) -> str:
    """Return what remains of one limit."""
    if limit.measure is Measure.DAYS:
        days = round(limit.allowed - limit.used)
        if days < 0:
            return ngettext("%(days)d day overdue", "%(days)d days overdue", -days) % {"days": -days}
        return ngettext("%(days)d day left", "%(days)d days left", days) % {"days": days}
    left, allowed = (_amount(limit.measure, value, units) for value in (limit.remaining, limit.allowed))
    return _("%(left)s left of %(allowed)s") % {"left": left, "allowed": allowed}


def _amount(measure: Measure, value: float, units: Units) -> str:
    if measure is Measure.MASS:
        return format_quantity(value, Kind.MASS, units.bulk_mass, digits=1)
    if measure is Measure.HOURS:
        return f"{value:.1f} h"
    return ngettext("%(number)d job", "%(number)d jobs", round(value)) % {"number": round(value)}


def _standing(plan: MaintenancePlan, today: date) -> tuple[str, str]:
    late = "warning" if plan.when_overdue == WhenOverdue.WARN else "refusal"
    facts = facts_of(plan)
    if plan.failed_on is not None:
        return "refusal", _("Failed on %(day)s") % {"day": day_words(plan.failed_on)}
    if plan.is_reached:
        return late, _("Used up")
    if facts.is_overdue(today):
        return late, _("Overdue")
    if plan.due_on is not None and plan.due_on - today <= WORK_SOON:
        return "warning", _("Due today") if plan.due_on == today else _("Due soon")
    return "good", _("In time")


def _urgency(row: PlanRow) -> tuple[int, date]:
    return ("refusal", "warning", "good").index(row.tone), row.plan.due_on or date.max


# --- work on record ----------------------------------------------------------------------------------


def record_rows(actor: Actor, records: Sequence[MaintenanceRecord], units: Units) -> tuple[RecordRow, ...]:
    """Return records in words with what is attached to them; :func:`records_of` has loaded the rest."""
    parents = [work_parent(record) for record in records]
    attached = galleries(actor, parents)
    pairs = zip(records, parents, strict=True)
    return tuple(_record_row(actor, record, units, attached[parent.key]) for record, parent in pairs)


def _record_row(actor: Actor, record: MaintenanceRecord, units: Units, attached: Gallery) -> RecordRow:
    correction = getattr(record, "corrected_by", None)
    tones = {WorkOutcome.PASSED: "good", WorkOutcome.FAILED: "refusal"}
    may_correct = may_correct_maintenance(actor) and correction is None and record.piece.retired_at is None
    return RecordRow(
        record=record,
        title=record.title or str(record.get_work_display()),
        tone=tones.get(WorkOutcome(record.outcome), "plain"),
        day=day_words(record.done_on),
        lines=tuple(_lines(record, units)),
        correction=correction.correction_reason if correction else "",
        correct_url=_address("work_correct", record.piece.code, record.sequence) if may_correct else "",
        gallery=attached,
    )


def _lines(record: MaintenanceRecord, units: Units) -> Iterable[str]:
    names = {
        "reference": _("Reference"),
        "before": _("Before"),
        "after": _("After"),
        "pressure": _("Pressure"),
        "temperature": _("Temperature"),
    }
    read = [
        f"{words} {_as_typed(record.readings[name])}"
        for name, words in names.items()
        if name in record.readings
    ]
    if record.reference is not None:
        read.append(_("with %(mass)s") % {"mass": record.reference.code})
    if read:
        yield ", ".join(read)
    yield from findings_told(record.findings, units)
    used = _used_words(record, units)
    if used:
        yield _("After %(used)s") % {"used": used}
    if record.parts:
        yield _("Parts: %(parts)s") % {"parts": record.parts}
    if record.note:
        yield record.note


def _as_typed(reading: dict[str, Any]) -> str:
    """Return a reading with every digit that was read, and its unit."""
    quantity = Quantity.from_record(reading)
    return f"{quantity.typed.strip().removesuffix(quantity.unit).strip()} {quantity.unit}"


def _used_words(record: MaintenanceRecord, units: Units) -> str:
    measures = {"hours": Measure.HOURS, "kg": Measure.MASS, "jobs": Measure.JOBS}
    return ", ".join(
        _amount(measure, record.used[name], units)
        for name, measure in measures.items()
        if record.used.get(name)
    )


def _address(name: str, *arguments: object) -> str:
    return reverse(f"equipment:{name}", args=arguments)
