"""Work that was done on a piece: recorded with its readings, corrected by a new record."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _

from equipment.errors import PlanChanged, ReasonMissing, SubmissionReused, WorkImpossible
from equipment.instruments import objections
from equipment.ledger import Account, LedgerEntry
from equipment.maintenance.choices import Work, WorkOutcome
from equipment.maintenance.judging import Judgement, ScaleReadings, judge_scale, tolerance_of
from equipment.maintenance.models import MaintenancePlan, MaintenanceRecord
from equipment.maintenance.plans import plan_lock
from equipment.maintenance.policies import may_correct_maintenance, may_record_maintenance
from equipment.maintenance.projection import day_begins, plan_project
from equipment.maintenance.tank import Reached, TankReadings, judge_tank
from equipment.maintenance.use import meter_read
from equipment.models import Connection, Piece
from equipment.selectors import piece_facts, today_at
from shopcool.core.actors import Actor
from shopcool.core.errors import require
from shopcool.core.records import append
from shopcool.engineering.quantities import Quantity
from shopcool.shop.selectors import shop_get
from shopcool.shop.units import Units, units_for
from shopcool.vehicles.choices import Refrigerant


@dataclass(frozen=True)
class WorkDone:
    """What was done: when, by whom, how it ended.

    ``readings`` are those of the reference, before and after an adjustment, by these names, or of a tank
    its pressure and temperature. The outcome of a scale check and of a tank check follows from them.
    ``reference`` is the registered piece it was compared with, and ``meter_hours`` what the hour meter
    showed [h].
    """

    done_on: date
    outcome: WorkOutcome | None = None
    done_by: str = ""
    readings: dict[str, Quantity] = field(default_factory=dict)
    reference: Piece | None = None
    parts: str = ""
    note: str = ""
    meter_hours: float | None = None


@transaction.atomic
def work_record(
    *, actor: Actor, plan: MaintenancePlan, work: WorkDone, submission_key: UUID, now: datetime
) -> MaintenanceRecord:
    """Record work that was done by a plan; a failed check makes the piece not ready at once.

    The same form sent twice gives the first record. Raises NotAllowed, PlanChanged when the plan has ended,
    WorkImpossible, and SubmissionReused.
    """
    require(may_record_maintenance(actor))
    plan = plan_lock(plan.pk)
    before = _sent_before(plan, work, submission_key)
    if before is not None:
        return before
    if plan.ended_at is not None or plan.piece.retired_at is not None:
        raise PlanChanged(_("This plan has ended. Look at the piece again."))
    if work.meter_hours is not None:
        meter_read(actor=actor, piece=plan.piece, meter_hours=work.meter_hours, now=now)
        plan = plan_lock(plan.pk)
    return _append(plan, work, submission_key, actor=actor, now=now)


@transaction.atomic
def work_correct(
    *,
    actor: Actor,
    record: MaintenanceRecord,
    work: WorkDone,
    reason: str,
    submission_key: UUID,
    now: datetime,
) -> MaintenanceRecord:
    """Correct a record by a new one that points at it; the old one stays readable.

    Raises NotAllowed, ReasonMissing, PlanChanged when it was corrected already, WorkImpossible.
    """
    require(may_correct_maintenance(actor))
    if not reason.strip():
        raise ReasonMissing(_("Say why the record is corrected."), field="reason")
    if record.plan is None:
        raise WorkImpossible(_("This record belongs to no plan."))
    plan = plan_lock(record.plan.pk)
    before = _sent_before(plan, work, submission_key)
    if before is not None:
        return before
    if MaintenanceRecord.objects.filter(corrects=record).exists():
        raise PlanChanged(_("This record was corrected already. Look at the newest one."))
    return _append(plan, work, submission_key, actor=actor, now=now, corrects=record, reason=reason.strip())


def _append(
    plan: MaintenancePlan,
    work: WorkDone,
    submission_key: UUID,
    *,
    actor: Actor,
    now: datetime,
    corrects: MaintenanceRecord | None = None,
    reason: str = "",
) -> MaintenanceRecord:
    today = today_at(shop_get(), now)
    judgement = _judged(plan, work, today, units_for(shop_get(), actor.units))
    record = append(
        MaintenanceRecord(
            piece=plan.piece,
            plan=plan,
            work=plan.work,
            title=plan.title,
            done_on=work.done_on,
            counts_from=now if work.done_on == today and corrects is None else day_begins(work.done_on),
            done_by=work.done_by.strip() or actor.name,
            outcome=judgement.outcome,
            readings=_readings(work),
            findings=judgement.as_record(),
            used={"hours": plan.used_hours, "kg": plan.used_kg, "jobs": plan.used_jobs},
            reference=work.reference,
            parts=work.parts.strip(),
            note=work.note.strip(),
            submission_key=submission_key,
            corrects=corrects,
            correction_reason=reason,
        ),
        stream=f"maintenance:piece:{plan.piece_id}",
        actor=actor,
        now=now,
    )
    plan_project(plan)
    return record


def _judged(plan: MaintenancePlan, work: WorkDone, today: date, units: Units) -> Judgement:
    """Return the outcome of the work; raises WorkImpossible for what can't be true or proves nothing."""
    if work.done_on > today:
        raise WorkImpossible(_("This lies in the future."), field="done_on")
    _check_reference(work, today)
    if plan.work == Work.SCALE_CHECK:
        judgement = _judged_scale(plan, work, units)
    elif plan.work == Work.TANK_CHECK:
        judgement = _judged_tank(plan, work, units)
    elif work.outcome is None:
        raise WorkImpossible(_("Say how it ended."), field="outcome")
    else:
        judgement = Judgement(work.outcome)
    if Work(plan.work).is_check and judgement.outcome is WorkOutcome.NOT_JUDGED:
        raise WorkImpossible(_("A check is passed or failed. Say which."), field="outcome")
    if judgement.outcome is WorkOutcome.FAILED and not (work.note.strip() or judgement.findings):
        raise WorkImpossible(_("Say what was wrong."), field="note")
    return judgement


def _judged_scale(plan: MaintenancePlan, work: WorkDone, units: Units) -> Judgement:
    for name, sentence in (
        ("reference", _("Say which mass was put on.")),
        ("before", _("Say what the scale showed.")),
    ):
        if name not in work.readings:
            raise WorkImpossible(sentence, field=name)
    if work.readings["reference"].si <= 0:
        raise WorkImpossible(_("A reference mass weighs more than nothing."), field="reference")
    after = work.readings.get("after")
    readings = ScaleReadings(
        reference_kg=work.readings["reference"].si,
        before_kg=work.readings["before"].si,
        after_kg=after.si if after else None,
    )
    tolerance = tolerance_of(plan.tolerance_kg, plan.piece.scale_tolerance_kg)
    return judge_scale(readings, tolerance, units)


def _judged_tank(plan: MaintenancePlan, work: WorkDone, units: Units) -> Judgement:
    for name, sentence in (
        ("pressure", _("Say what the gauge of the tank showed.")),
        ("temperature", _("Say how warm the metal of the tank was.")),
    ):
        if name not in work.readings:
            raise WorkImpossible(sentence, field=name)
    readings = TankReadings(work.readings["pressure"].si, work.readings["temperature"].si)
    return judge_tank(_gas_of(plan.piece), readings, _reached(plan), units)


def _gas_of(piece: Piece) -> Refrigerant:
    """Return the refrigerant on the label of a piece, else what it holds by the books."""
    held = Account.objects.filter(piece=piece, content__in=Refrigerant.values).first()
    return Refrigerant(piece.refrigerant or (held.content if held else Refrigerant.UNKNOWN))


def _reached(plan: MaintenancePlan) -> Reached:
    """Return what gas of a piece may have reached since the work before."""
    rows = Connection.objects.filter(piece=plan.piece, connected_at__gte=plan.counts_from)
    jobs = list(rows.order_by("connected_at", "pk").values_list("job_number", flat=True))
    given = LedgerEntry.objects.filter(source__piece=plan.piece, occurred_at__gte=plan.counts_from)
    tanks = []
    for job, tank in given.order_by("sequence").values_list("job_number", "target__piece__code"):
        jobs += [job] if job else []
        tanks += [tank] if tank else []
    return Reached(tuple(dict.fromkeys(jobs)), tuple(dict.fromkeys(tanks)))


def _check_reference(work: WorkDone, today: date) -> None:
    if work.reference is None:
        return
    (facts,) = piece_facts([work.reference])
    against = objections(facts, today)
    if against:
        raise WorkImpossible(against[0].sentence, field="reference_piece")


def _readings(work: WorkDone) -> dict[str, Any]:
    return {name: quantity.as_record() for name, quantity in work.readings.items()}


def _sent_before(plan: MaintenancePlan, work: WorkDone, submission_key: UUID) -> MaintenanceRecord | None:
    """Return what the same form recorded before; raises SubmissionReused when that said another thing."""
    earlier = MaintenanceRecord.objects.filter(submission_key=submission_key).first()
    if earlier is None:
        return None
    same_work = (earlier.done_on, earlier.note, earlier.parts) == (
        work.done_on, work.note.strip(), work.parts.strip(),
    )  # fmt: skip
    if earlier.plan_id != plan.pk or not same_work or earlier.readings != _readings(work):
        raise SubmissionReused(_("This page was recorded already, with something else in it. Open it again."))
    return earlier
