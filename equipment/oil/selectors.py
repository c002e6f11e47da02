"""Reads of the oil: lots with their state, what an injector holds, who received what."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import BooleanField, DecimalField, F, OuterRef, QuerySet, Subquery
from django.db.models.functions import Coalesce

from equipment.models import Piece
from equipment.oil.grades import LotFacts, LotState, lot_state, same_grade
from equipment.oil.models import MoveKind, OilLot, OilMove, OilStore, OilTest, StoreKind
from equipment.policies import may_see_equipment
from equipment.selectors import today_at
from shopcool.core.actors import Actor
from shopcool.shop.models import Shop
from shopcool.vehicles.choices import Lubricant


@dataclass(frozen=True)
class LotNow:
    """A lot with what is left of it [m³, kg] and whether it may be dispensed today."""

    lot: OilLot
    volume_m3: float
    mass_kg: float
    days_open: int | None
    limit_days: int | None
    state: LotState


def lots_visible_to(actor: Actor) -> QuerySet[OilLot]:
    """Return the lots that the person may see, by code."""
    return lots_on_record() if may_see_equipment(actor) else OilLot.objects.none()


def lots_on_record() -> QuerySet[OilLot]:
    """Return every lot with what is left of it and its last vial test, by code."""
    last_test = OilTest.objects.filter(lot=OuterRef("pk")).order_by("-sequence")
    amount = DecimalField(max_digits=14, decimal_places=10)
    return (
        OilLot.objects.select_related("created_by")
        .annotate(
            left_m3=Coalesce(F("store__volume_m3"), 0, output_field=amount),
            left_kg=Coalesce(F("store__mass_kg"), 0, output_field=amount),
            test_against=Coalesce(
                Subquery(last_test.values("speaks_against")[:1]), False, output_field=BooleanField()
            ),
        )
        .order_by("code")
    )


def lots_now(lots: Iterable[OilLot], *, shop: Shop, now: datetime) -> list[LotNow]:
    """Return lots of :func:`lots_on_record` as they are now, without a further query."""
    return lots_at(lots, shop=shop, today=today_at(shop, now))


def lots_at(lots: Iterable[OilLot], *, shop: Shop, today: date) -> list[LotNow]:
    """Return lots of :func:`lots_on_record` as they are on a day of the workshop, without a further query."""
    return [_lot_now(lot, shop, today) for lot in lots]


def lot_now(lot: OilLot, *, shop: Shop, now: datetime) -> LotNow:
    """Return one lot as it is now."""
    store = OilStore.objects.filter(lot=lot).first()
    test = lot.tests.order_by("-sequence").first()
    lot.left_m3, lot.left_kg = (store.volume_m3, store.mass_kg) if store else (0, 0)  # type: ignore[attr-defined]
    lot.test_against = bool(test and test.speaks_against)  # type: ignore[attr-defined]
    return _lot_now(lot, shop, today_at(shop, now))


def _lot_now(lot: OilLot, shop: Shop, today: date) -> LotNow:
    volume, mass = float(lot.left_m3), float(lot.left_kg)  # type: ignore[attr-defined]
    days_open = (today - today_at(shop, lot.opened_at)).days if lot.opened_at else None
    limit = shop.oil_open_days if Lubricant(lot.lubricant).draws_moisture else None
    facts = LotFacts(
        volume_m3=volume,
        is_bad=lot.bad_at is not None,
        test_against=lot.test_against,  # type: ignore[attr-defined]
        days_open=days_open,
        limit_days=limit,
        low_m3=lot.low_m3,
    )
    return LotNow(lot, volume, mass, days_open, limit, lot_state(facts))


def lots_for_label(lots: Iterable[LotNow], lubricant: str, grade: str) -> list[LotNow]:
    """Return the lots of a class and grade that may be dispensed, opened ones first."""
    fitting = [
        one
        for one in lots
        if one.lot.lubricant == lubricant and same_grade(one.lot.grade, grade) and one.state.may_be_dispensed
    ]
    return sorted(fitting, key=lambda one: (one.lot.opened_at is None, one.lot.received_on, one.lot.pk))


def held_by(piece_ids: Sequence[int]) -> dict[int, float]:
    """Return what each injector holds by the books [m³]; one that was never filled is left out."""
    rows = OilStore.objects.filter(piece_id__in=piece_ids).values_list("piece_id", "volume_m3")
    return {piece_id: float(volume) for piece_id, volume in rows if piece_id is not None}


def bad_lots_in(piece_ids: Sequence[int]) -> dict[int, str]:
    """Return the code of a bad lot that was filled into each injector; a later inspection lifts it."""
    rows = OilMove.objects.filter(
        kind=MoveKind.FILLED,
        source__lot__bad_at__isnull=False,
        target__piece_id__in=piece_ids,
        target__piece__state__unknown=True,
    ).order_by("sequence")
    return dict(rows.values_list("target__piece_id", "source__lot__code"))


def moves_of_lot(lot: OilLot) -> QuerySet[OilMove]:
    """Return everything that moved in or out of a lot, newest first."""
    return _moves(OilStore.objects.filter(lot=lot))


def moves_of_injector(piece: Piece) -> QuerySet[OilMove]:
    """Return everything that moved in or out of an injector, newest first."""
    return _moves(OilStore.objects.filter(piece=piece))


def _moves(stores: QuerySet[OilStore]) -> QuerySet[OilMove]:
    places = ("source__lot", "source__piece", "target__lot", "target__piece", "target__circuit__vehicle")
    ids = list(stores.values_list("pk", flat=True))
    found = OilMove.objects.filter(source_id__in=ids) | OilMove.objects.filter(target_id__in=ids)
    return found.select_related(*places, "source__circuit__vehicle").order_by("-sequence")


@dataclass(frozen=True)
class Received:
    """An injector or a vehicle that oil of a lot went into: through which injector, when, how much [m³].

    ``traces_only`` says that the injector had been emptied by the books before, so that only its film
    of the lot was left.
    """

    move: OilMove
    through: Piece | None = None
    traces_only: bool = False


def injectors_with(lot: OilLot) -> list[OilMove]:
    """Return every filling of an injector from a lot, oldest first."""
    rows = OilMove.objects.filter(kind=MoveKind.FILLED, source__lot=lot)
    return list(rows.select_related("target__piece__state").order_by("sequence"))


def vehicles_with(lot: OilLot) -> list[Received]:
    """Return every addition to a vehicle that may have held oil of a lot, oldest first.

    Oil goes straight from a lot into a new part, or through an injector from its filling on: an injector is
    never cleaned by being emptied, its film stays.
    """
    added = OilMove.objects.filter(target__kind=StoreKind.VEHICLE).select_related(
        "target__circuit__vehicle", "source__piece"
    )
    found = [Received(move) for move in added.filter(source__lot=lot)]
    first_fill: dict[int, int] = {}
    for fill in injectors_with(lot):
        first_fill.setdefault(fill.target_id, fill.sequence)
    for store_id, since in first_fill.items():
        emptied = _emptied_after(store_id, since, lot)
        for move in added.filter(source_id=store_id, sequence__gt=since):
            found.append(Received(move, move.source.piece, _is_trace(move, emptied)))
    return sorted(found, key=lambda one: one.move.sequence)


def _emptied_after(store_id: int, since: int, lot: OilLot) -> list[tuple[int, bool]]:
    """Return, after each later movement of an injector, whether oil of the lot was still booked inside."""
    level, inside, told = 0, False, []
    moves = OilMove.objects.filter(source_id=store_id) | OilMove.objects.filter(target_id=store_id)
    for move in moves.select_related("source").order_by("sequence"):
        told.append((move.sequence, inside))
        level += int((move.volume_m3 if move.target_id == store_id else -move.volume_m3) * 10**10)
        is_fill = move.target_id == store_id and move.source.lot_id == lot.pk
        inside = (inside or is_fill) and level > 0
    return [(sequence, was_inside) for sequence, was_inside in told if sequence > since]


def _is_trace(move: OilMove, told: list[tuple[int, bool]]) -> bool:
    return not dict(told).get(move.sequence, True)
