"""Oil into injectors, and from injectors and lots into vehicles: only the same class and grade."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _

from equipment.choices import ExposureKind, PieceKind
from equipment.errors import PieceBusy
from equipment.exposure import Residue
from equipment.models import Piece
from equipment.oil.errors import LotUnfit, OilDiffers
from equipment.oil.grades import LotState, same_grade
from equipment.oil.models import MoveKind, OilLot, OilMove, OilStore
from equipment.oil.selectors import LotNow, bad_lots_in, lot_now
from equipment.oil.stores import (
    LEAST_M3,
    Booking,
    lock_stores,
    oil_move,
    store_of_circuit,
    store_of_injector,
    store_of_lot,
)
from equipment.policies import may_handle_oil
from equipment.selectors import holders
from equipment.services.exposures import entry_record
from equipment.services.log import Entry
from shopcool.core.actors import Actor
from shopcool.core.errors import Conflict, require
from shopcool.core.quantities import stored_text
from shopcool.engineering.quantities import Quantity
from shopcool.shop.selectors import shop_get
from shopcool.vehicles.choices import Lubricant
from shopcool.vehicles.models import Circuit


@transaction.atomic
def injector_fill(
    *,
    actor: Actor,
    injector: Piece,
    lot: OilLot,
    amount: Quantity,
    now: datetime,
    submission_key: UUID | None = None,
) -> OilMove:
    """Fill an injector from a lot of its own class and grade, and note in its log what it has held.

    The same form sent twice fills once. Raises NotAllowed, OilDiffers, LotUnfit, PieceBusy, NotEnoughOil,
    OilAmountImpossible.
    """
    require(may_handle_oil(actor))
    source, target = store_of_lot(lot), store_of_injector(injector)
    lock_stores(source, target)
    before = OilMove.objects.filter(submission_key=submission_key).first() if submission_key else None
    if before is not None:
        return before
    lot = OilLot.objects.select_for_update(of=("self",)).get(pk=lot.pk)
    _refuse_other_oil(injector, lot)
    _refuse_busy(injector)
    lot_take(lot, now)
    booking = Booking(
        MoveKind.FILLED,
        source,
        target,
        amount.si,
        typed=stored_text(amount),
        submission_key=submission_key,
    )
    move = oil_move(booking, actor=actor, now=now)
    note = _("Filled from lot %(lot)s, batch %(batch)s.") % {"lot": lot.code, "batch": lot.batch}
    residue = Residue(lubricants=frozenset({lot.lubricant}))
    entry = Entry(injector.pk, ExposureKind.FILLED, now, residue=residue, note=note)
    entry_record(entry, actor=actor, now=now)
    return move


def _refuse_other_oil(injector: Piece, lot: OilLot) -> None:
    if lot.lubricant != injector.lubricant:
        sentence = _(
            "%(piece)s is labelled for %(label)s oil, %(lot)s is %(oil)s. No amount of it is acceptable."
        )
        words = {
            "piece": injector.code,
            "label": Lubricant(injector.lubricant).label,
            "lot": lot.code,
            "oil": Lubricant(lot.lubricant).label,
        }
        raise OilDiffers(sentence % words, field="lot")
    if not injector.lubricant_grade.strip():
        sentence = _(
            "%(piece)s names no grade on its label: retire it and start a new one that does. Grades of one "
            "class are not interchangeable."
        )
        raise OilDiffers(sentence % {"piece": injector.code}, field="lot")
    if not same_grade(lot.grade, injector.lubricant_grade):
        sentence = _(
            "%(piece)s is labelled for the grade %(label)s, %(lot)s is %(grade)s. Grades of one class are "
            "not interchangeable."
        )
        words = {
            "piece": injector.code,
            "label": injector.lubricant_grade,
            "lot": lot.code,
            "grade": lot.grade,
        }
        raise OilDiffers(sentence % words, field="lot")


def _refuse_busy(injector: Piece) -> None:
    busy = holders([injector.pk])
    if busy:
        sentence = _("%(piece)s is on job %(job)s. Take it off before you fill it.")
        raise PieceBusy(sentence % {"piece": injector.code, "job": busy[injector.pk]}, field="injector")
    state = injector.state
    if not state.in_service:
        sentence = _("%(piece)s is out of service: %(why)s")
        why = state.out_of_service_reason or _("no reason noted")
        raise Conflict(sentence % {"piece": injector.code, "why": why}, field="injector")


def lot_take(lot: OilLot, now: datetime) -> None:
    """Open a locked lot if it was sealed; raises LotUnfit unless its oil may be dispensed now."""
    current = lot_now(lot, shop=shop_get(), now=now)
    if not current.state.may_be_dispensed:
        raise LotUnfit(unfit_words(current), field="lot")
    if lot.opened_at is None:
        lot.opened_at = now
        lot.save(update_fields=["opened_at"])


def unfit_words(lot: LotNow) -> str:
    """Return why a lot must not be dispensed, and what to do."""
    sentences = {
        LotState.BAD: _("%(lot)s was found bad: %(why)s Take another lot."),
        LotState.TEST_AGAINST: _(
            "The last vial test speaks against %(lot)s. Test it again, or say that it was found bad."
        ),
        LotState.EMPTY: _("%(lot)s is empty by the books. Measure it, or take another lot."),
        LotState.OPEN_TOO_LONG: _(
            "%(lot)s has been open for %(days)s days, %(limit)s are allowed here: such oil draws moisture "
            "from the air. Open a new container and book this one out as waste."
        ),
    }
    reason = lot.lot.bad_reason.strip()
    return sentences[lot.state] % {
        "lot": lot.lot.code,
        "why": reason if reason.endswith((".", "!", "?")) else f"{reason}.",
        "days": lot.days_open,
        "limit": lot.limit_days,
    }


@dataclass(frozen=True)
class Addition:
    """Oil that a step brought into a vehicle: from an injector or straight from a lot, how much [m³]."""

    volume_m3: float
    injector_id: int | None = None
    lot_id: int | None = None
    typed: str = ""


def additions_book(
    *,
    actor: Actor,
    circuit: Circuit,
    before: Addition | None,
    after: Addition | None,
    is_correction: bool,
    job_number: str,
    now: datetime,
) -> list[OilMove]:
    """Book what a step added to a vehicle; of a corrected step only the difference.

    A correction tells what has happened already, so it is booked whatever was learnt about the oil since.
    Must run inside the transaction of the step. Raises NotEnoughOil and LotUnfit.
    """
    vehicle = store_of_circuit(circuit)
    keys = [_key(one) for one in (before, after) if one is not None]
    stores = {key: _store_of(*key) for key in keys if key is not None}
    lock_stores(vehicle, *stores.values())
    moves = []
    for key, store in sorted(stores.items()):
        was, becomes = _amount(before, key), _amount(after, key)
        if abs(becomes - was) < LEAST_M3:
            continue
        if not is_correction:
            _refuse_unfit(store, now)
        booking = _booking(store, vehicle, becomes - was, is_correction=is_correction)
        typed = after.typed if after is not None and not is_correction else ""
        moves.append(oil_move(replace(booking, typed=typed, job_number=job_number), actor=actor, now=now))
    return moves


def _key(addition: Addition) -> tuple[str, int] | None:
    if addition.injector_id:
        return ("injector", addition.injector_id)
    return ("lot", addition.lot_id) if addition.lot_id else None


def _amount(addition: Addition | None, key: tuple[str, int]) -> float:
    return addition.volume_m3 if addition is not None and _key(addition) == key else 0.0


def _store_of(source: str, number: int) -> OilStore:
    if source == "injector":
        return store_of_injector(Piece.objects.get(pk=number, kind=PieceKind.INJECTOR))
    return store_of_lot(OilLot.objects.get(pk=number))


def _refuse_unfit(store: OilStore, now: datetime) -> None:
    if store.lot is not None:
        lot_take(OilLot.objects.select_for_update(of=("self",)).get(pk=store.lot.pk), now)
        return
    bad = bad_lots_in([store.piece_id or 0])
    if bad and store.piece is not None:
        sentence = _("%(piece)s has held oil of lot %(lot)s, which was found bad. Take another injector.")
        words = {"piece": store.piece.code, "lot": bad[store.piece.pk]}
        raise LotUnfit(sentence % words, field="injector")


def _booking(store: OilStore, vehicle: OilStore, volume_m3: float, *, is_correction: bool) -> Booking:
    kind = MoveKind.CORRECTED if is_correction else MoveKind.ADDED
    if volume_m3 > 0:
        return Booking(kind, store, vehicle, volume_m3)
    return Booking(kind, vehicle, store, -volume_m3)
