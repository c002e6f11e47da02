"""A vial of new oil measured with an insulation tester before it goes anywhere."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _

from equipment.errors import NotInThePast, SubmissionReused
from equipment.oil.errors import LotInvalid
from equipment.oil.models import OilLot, OilTest
from equipment.policies import may_handle_oil
from shopcool.core.actors import Actor
from shopcool.core.errors import DomainError, require
from shopcool.core.records import append, plain
from shopcool.engineering.errors import Refusal
from shopcool.engineering.insulation import InsulationReading, SampleTest, sample_test
from shopcool.engineering.quantities import Quantity

#: Kept among the readings under the hash: the log only grows, so a test sent twice would stay twice.
KEY = "submission_key"


@dataclass(frozen=True)
class VialReadings:
    """What was read: mixed resistance [Ω], before mixing and of other new oil if measured, voltages [V]."""

    resistance: Quantity
    nominal_voltage: Quantity
    mixed: bool
    actual_voltage: Quantity | None = None
    unmixed: Quantity | None = None
    other_lot: Quantity | None = None


@transaction.atomic
def oil_lot_test(
    *,
    actor: Actor,
    lot: OilLot,
    readings: VialReadings,
    now: datetime,
    occurred_at: datetime | None = None,
    note: str = "",
    submission_key: UUID | None = None,
) -> OilTest:
    """Record a vial test of a lot with its verdict; one that speaks against the oil stops the lot.

    A sealed lot is open from then on: the sample came out of it. The same form sent twice is one test.
    Raises NotAllowed, NotInThePast, LotInvalid for a reading that can't be judged, SubmissionReused.
    """
    require(may_handle_oil(actor))
    if occurred_at is not None and occurred_at > now:
        raise NotInThePast(_("This can't have happened later than now."), field="occurred_at")
    result, kept = _judged(readings), _kept(readings, submission_key)
    lot = OilLot.objects.select_for_update(of=("self",)).get(pk=lot.pk)
    before = _sent_before(kept)
    if before is not None:
        return before
    _note_opened(lot, occurred_at or now)
    test = OilTest(
        lot=lot,
        readings=kept,
        verdict=result.verdict.value,
        sentence=result.sentence,
        speaks_against=result.shows_contamination,
        method_version=result.method_version,
        occurred_at=occurred_at or now,
        note=note.strip(),
    )
    return append(test, stream=f"oil-test:{lot.pk}", actor=actor, now=now)


def _kept(readings: VialReadings, submission_key: UUID | None) -> dict[str, Any]:
    kept = {
        name: value.as_record() if isinstance(value, Quantity) else value
        for name, value in vars(readings).items()
        if value is not None
    }
    return {**kept, KEY: str(submission_key)} if submission_key else kept


def _sent_before(kept: dict[str, Any]) -> OilTest | None:
    """Return what the same form recorded before; raises SubmissionReused when that said another thing."""
    if KEY not in kept:
        return None
    earlier = OilTest.objects.filter(**{f"readings__{KEY}": kept[KEY]}).first()
    if earlier is not None and earlier.readings != plain(kept):
        raise SubmissionReused(_("This page was recorded already, with other readings. Open it again."))
    return earlier


def _note_opened(lot: OilLot, at: datetime) -> None:
    if lot.opened_at is None or at < lot.opened_at:
        lot.opened_at = at
        lot.save(update_fields=["opened_at"])


def _judged(readings: VialReadings) -> SampleTest:
    in_order = [
        _reading(readings, name) for name in ("unmixed", "resistance") if getattr(readings, name) is not None
    ]
    other = _reading(readings, "other_lot") if readings.other_lot is not None else None
    try:
        return sample_test(in_order, mixed=readings.mixed, new_oil=other)
    except Refusal as refusal:
        field = "other_lot" if refusal.field == "new_oil" else "resistance"
        raise DomainError(refusal.message, code=refusal.code, field=field) from refusal


def _reading(readings: VialReadings, name: str) -> InsulationReading:
    found: Quantity = getattr(readings, name)
    if found.over_range and not found.si:
        sentence = _("Type where the tester's range ends, such as “OL 2.2 GΩ”.")
        raise LotInvalid(sentence, field=name)
    nominal = readings.nominal_voltage.si
    actual = readings.actual_voltage.si if name == "resistance" and readings.actual_voltage else nominal
    return InsulationReading(found.si, nominal, actual, found.comparator or "=")
