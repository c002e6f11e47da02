"""A vial of new oil measured with an insulation tester before it goes anywhere."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _

from equipment.errors import NotInThePast
from equipment.oil.errors import LotInvalid
from equipment.oil.models import OilLot, OilTest
from equipment.policies import may_handle_oil
from shopcool.core.actors import Actor
from shopcool.core.errors import DomainError, require
from shopcool.core.records import append
from shopcool.engineering.errors import Refusal
from shopcool.engineering.insulation import InsulationReading, SampleTest, sample_test
from shopcool.engineering.quantities import Quantity


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
) -> OilTest:
    """Record a vial test of a lot with its verdict; one that speaks against the oil stops the lot.

    A sealed lot is open from then on: the sample came out of it.

    Raises NotAllowed, NotInThePast, LotInvalid for a reading that can't be judged.
    """
    require(may_handle_oil(actor))
    if occurred_at is not None and occurred_at > now:
        raise NotInThePast(_("This can't have happened later than now."), field="occurred_at")
    result = _judged(readings)
    _note_opened(lot, occurred_at or now)
    test = OilTest(
        lot=lot,
        readings={
            name: value.as_record() if isinstance(value, Quantity) else value
            for name, value in vars(readings).items()
            if value is not None
        },
        verdict=result.verdict.value,
        sentence=result.sentence,
        speaks_against=result.shows_contamination,
        method_version=result.method_version,
        occurred_at=occurred_at or now,
        note=note.strip(),
    )
    return append(test, stream=f"oil-test:{lot.pk}", actor=actor, now=now)


def _note_opened(lot: OilLot, at: datetime) -> None:
    lot = OilLot.objects.select_for_update(of=("self",)).get(pk=lot.pk)
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
