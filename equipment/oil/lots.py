"""Lots of oil: received, opened, measured, wasted."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from equipment.errors import NotInThePast, ReasonMissing
from equipment.models import Piece
from equipment.oil.errors import LotInvalid
from equipment.oil.grades import LARGEST_CONTAINER_M3
from equipment.oil.models import MoveKind, OilLot, OilMove, OilStore, StoreKind
from equipment.oil.stores import (
    VOLUME_STEP,
    Booking,
    density_of,
    lock_stores,
    oil_move,
    store_of_injector,
    store_of_kind,
    store_of_lot,
)
from equipment.policies import may_handle_oil
from equipment.selectors import today_at
from shopcool.core.actors import Actor
from shopcool.core.errors import Conflict, require, require_person
from shopcool.core.quantities import stored_text
from shopcool.engineering.quantities import Quantity
from shopcool.shop.selectors import shop_get
from shopcool.vehicles.choices import Lubricant


@dataclass(frozen=True)
class LotDescription:
    """What is written on a container, its density with its source, and the level at which to reorder."""

    code: str
    lubricant: str
    grade: str
    supplier: str
    batch: str
    container: Quantity
    density: Quantity
    density_source: str
    received_on: date
    low: Quantity | None = None


@transaction.atomic
def oil_lot_receive(
    *, actor: Actor, description: LotDescription, now: datetime, submission_key: UUID | None = None
) -> OilLot:
    """Put a new container on the shelf; the same form sent twice gives the first lot.

    Raises NotAllowed, LotInvalid beside its field, Conflict when the code is taken.
    """
    require(may_handle_oil(actor))
    before = OilLot.objects.filter(submission_key=submission_key).first() if submission_key else None
    if before is not None:
        return before
    _check(description, now)
    lot = OilLot(
        **_columns(description),
        created_at=now,
        created_by_id=require_person(actor),
        submission_key=submission_key,
    )
    try:
        with transaction.atomic():
            lot.save(force_insert=True)
    except IntegrityError as error:
        raise Conflict(_("Another lot has the code %(code)s.") % {"code": lot.code}, field="code") from error
    booking = Booking(
        MoveKind.RECEIVED,
        store_of_kind(StoreKind.SUPPLIER),
        store_of_lot(lot),
        lot.container_m3,
        typed=lot.container_typed,
    )
    oil_move(booking, actor=actor, now=now)
    return lot


def _columns(description: LotDescription) -> dict[str, object]:
    low = description.low
    return {
        "code": description.code.strip().upper(),
        "lubricant": description.lubricant,
        "grade": " ".join(description.grade.split()),
        "supplier": " ".join(description.supplier.split()),
        "batch": " ".join(description.batch.split()),
        "container_m3": description.container.si,
        "container_typed": stored_text(description.container),
        "density_kg_m3": description.density.si,
        "density_typed": stored_text(description.density),
        "density_source": " ".join(description.density_source.split()),
        "low_m3": low.si if low else None,
        "low_typed": stored_text(low),
        "received_on": description.received_on,
    }


def _check(description: LotDescription, now: datetime) -> None:
    if description.lubricant not in Lubricant.values or description.lubricant == Lubricant.UNKNOWN:
        raise LotInvalid(_("Say which oil class it is; oil nobody can name is waste."), field="lubricant")
    texts = {"code": 20, "grade": 60, "supplier": 120, "batch": 80, "density_source": 160}
    for field, longest in texts.items():
        if not 1 <= len(" ".join(getattr(description, field).split())) <= longest:
            sentence = _("Write 1 to %(longest)d characters here.") % {"longest": longest}
            raise LotInvalid(sentence, field=field)
    if not all(letter.isalnum() or letter in "-._" for letter in description.code.strip()):
        raise LotInvalid(_("Use letters, digits and - . _ only, without spaces."), field="code")
    if not 0 < description.container.si <= LARGEST_CONTAINER_M3:
        raise LotInvalid(_("A container holds more than nothing and at most 250 l."), field="container")
    _check_level(description.low, description.container.si)
    if description.received_on > today_at(shop_get(), now):
        raise LotInvalid(_("It can't have come later than today."), field="received_on")


@transaction.atomic
def oil_lot_open(*, actor: Actor, lot: OilLot, opened_at: datetime, now: datetime) -> OilLot:
    """Note when a container was first opened; from then on the days count.

    Raises NotAllowed, NotInThePast, Conflict when it was opened before.
    """
    require(may_handle_oil(actor))
    if opened_at > now:
        raise NotInThePast(_("This can't have happened later than now."), field="occurred_at")
    lot = OilLot.objects.select_for_update(of=("self",)).get(pk=lot.pk)
    if lot.opened_at is not None:
        raise Conflict(_("%(lot)s was opened before; the first day counts.") % {"lot": lot.code})
    lot.opened_at = opened_at
    lot.save(update_fields=["opened_at"])
    return lot


@transaction.atomic
def oil_lot_level_set(*, actor: Actor, lot: OilLot, low: Quantity | None, now: datetime) -> OilLot:
    """Set the level of a lot below which the next container is ordered, or none.

    Raises NotAllowed and LotInvalid.
    """
    require(may_handle_oil(actor))
    _check_level(low, lot.container_m3)
    lot.low_m3, lot.low_typed = low.si if low else None, stored_text(low)
    lot.save(update_fields=["low_m3", "low_typed"])
    return lot


def _check_level(low: Quantity | None, container_m3: float) -> None:
    if low is not None and low.si > container_m3:
        raise LotInvalid(_("The container never holds as much: it would always be low."), field="low")


@transaction.atomic
def oil_measured(
    *,
    actor: Actor,
    held: OilLot | Piece,
    found: Quantity,
    now: datetime,
    note: str = "",
    submission_key: UUID | None = None,
) -> OilMove | None:
    """Book what measuring or weighing found beyond the books as a difference; None when they agree.

    ``found`` is a volume, or a mass that the density turns into one. The same form sent twice books once.
    Raises NotAllowed, OilAmountImpossible, LotInvalid when a mass was found and nobody knows the density.
    """
    require(may_handle_oil(actor))
    unaccounted = store_of_kind(StoreKind.UNACCOUNTED)
    place = _place(held)
    store = lock_stores(place, unaccounted)[place.pk]
    before = _moved_before(submission_key)
    if before is not None:
        return before
    volume_m3 = _found_m3(store, found)
    difference = volume_m3 - float(store.volume_m3)
    if abs(difference) < float(VOLUME_STEP) * 100:
        return None
    source, target = (unaccounted, store) if difference > 0 else (store, unaccounted)
    booking = Booking(
        MoveKind.MEASURED,
        source,
        target,
        abs(difference),
        typed=stored_text(found),
        note=note.strip(),
        submission_key=submission_key,
    )
    return oil_move(booking, actor=actor, now=now)


def _found_m3(store: OilStore, found: Quantity) -> float:
    if found.kind == "VOLUME":
        return found.si
    density = density_of(store)
    if density is None:
        raise LotInvalid(_("Nobody knows the density of what was inside: measure it in ml."), field="amount")
    return found.si / float(density)


@transaction.atomic
def oil_waste(
    *,
    actor: Actor,
    held: OilLot | Piece,
    amount: Quantity | None,
    reason: str,
    now: datetime,
    submission_key: UUID | None = None,
) -> OilMove:
    """Take oil out as waste, everything when no amount is named; the same form sent twice does it once.

    Raises NotAllowed, ReasonMissing, NotEnoughOil, OilAmountImpossible when nothing is inside.
    """
    require(may_handle_oil(actor))
    if not reason.strip():
        raise ReasonMissing(_("Say why the oil is waste."), field="note")
    waste = store_of_kind(StoreKind.WASTE)
    place = _place(held)
    store = lock_stores(place, waste)[place.pk]
    before = _moved_before(submission_key)
    if before is not None:
        return before
    booking = Booking(
        MoveKind.WASTED,
        store,
        waste,
        amount.si if amount else float(store.volume_m3),
        typed=stored_text(amount),
        note=reason.strip(),
        submission_key=submission_key,
    )
    return oil_move(booking, actor=actor, now=now)


@transaction.atomic
def injector_drain(*, actor: Actor, injector: Piece, reason: str, now: datetime) -> OilMove | None:
    """Book all that an injector still holds as waste, None when it holds nothing by the books.

    Its store stays locked until the transaction ends, so that nobody fills it meanwhile. Raises NotAllowed
    and ReasonMissing.
    """
    require(may_handle_oil(actor))
    store, waste = store_of_injector(injector), store_of_kind(StoreKind.WASTE)
    if lock_stores(store, waste)[store.pk].volume_m3 <= 0:
        return None
    return oil_waste(actor=actor, held=injector, amount=None, reason=reason, now=now)


def _moved_before(submission_key: UUID | None) -> OilMove | None:
    return OilMove.objects.filter(submission_key=submission_key).first() if submission_key else None


def _place(held: OilLot | Piece) -> OilStore:
    return store_of_lot(held) if isinstance(held, OilLot) else store_of_injector(held)
