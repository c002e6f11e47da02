"""Move oil between places: nothing is lost, no stock goes below nothing, ml and g stay together."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import ROUND_HALF_EVEN, Decimal
from uuid import UUID

from django.utils.translation import gettext as _

from equipment.choices import PieceKind
from equipment.models import Piece
from equipment.oil.errors import NotEnoughOil, OilAmountImpossible
from equipment.oil.models import MoveKind, OilLot, OilMove, OilStore, StoreKind
from equipment.oil.words import amount_words
from equipment.policies import may_handle_oil
from shopcool.core.actors import Actor
from shopcool.core.errors import DomainError, require
from shopcool.core.records import append
from shopcool.shop.selectors import shop_get
from shopcool.shop.units import units_for
from shopcool.vehicles.models import Circuit

#: Rounding of what is booked: a tenth of a microlitre [m³], a tenth of a milligram [kg].
VOLUME_STEP, MASS_STEP = Decimal("1e-10"), Decimal("1e-7")
#: Less is a rounding, not a movement [m³].
LEAST_M3, LARGEST_M3 = 1e-8, 0.3


@dataclass(frozen=True)
class Booking:
    """One movement to be booked: why, from where, to where, how much [m³], and what was typed."""

    kind: MoveKind
    source: OilStore
    target: OilStore
    volume_m3: float
    typed: str = ""
    job_number: str = ""
    note: str = ""
    submission_key: UUID | None = None


def store_of_lot(lot: OilLot) -> OilStore:
    """Return the place that a lot is."""
    return OilStore.objects.get_or_create(lot=lot, defaults={"kind": StoreKind.LOT})[0]


def store_of_injector(piece: Piece) -> OilStore:
    """Return the inside of an injector; raises DomainError for other pieces."""
    if piece.kind != PieceKind.INJECTOR:
        raise DomainError(_("%(piece)s is no oil injector.") % {"piece": piece.code}, field="injector")
    return OilStore.objects.get_or_create(piece=piece, defaults={"kind": StoreKind.INJECTOR})[0]


def store_of_circuit(circuit: Circuit) -> OilStore:
    """Return the place that a vehicle's circuit is."""
    return OilStore.objects.get_or_create(circuit=circuit, defaults={"kind": StoreKind.VEHICLE})[0]


def store_of_kind(kind: StoreKind) -> OilStore:
    """Return the one place of suppliers, of waste, or of what is not accounted for."""
    return OilStore.objects.get_or_create(kind=kind, lot=None, piece=None, circuit=None)[0]


def lock_stores(*stores: OilStore) -> dict[int, OilStore]:
    """Lock places, always in the same order, and return them as they are now."""
    rows = OilStore.objects.select_for_update(of=("self",)).select_related("lot", "piece")
    return {row.pk: row for row in rows.filter(pk__in=[store.pk for store in stores]).order_by("pk")}


def oil_move(booking: Booking, *, actor: Actor, now: datetime) -> OilMove:
    """Book one movement and return it; must run inside a transaction.

    Raises NotAllowed, OilAmountImpossible, and NotEnoughOil when the source holds less.
    """
    require(may_handle_oil(actor))
    volume = checked_volume(booking.volume_m3)
    locked = lock_stores(booking.source, booking.target)
    source, target = locked[booking.source.pk], locked[booking.target.pk]
    if StoreKind(source.kind).holds_stock and source.volume_m3 < volume:
        raise NotEnoughOil(_holds_less(source, volume, actor), field="amount")
    mass = _mass(source, target, volume)
    for store, sign in ((source, -1), (target, 1)):
        store.volume_m3 += sign * volume
        store.mass_kg += sign * mass
        store.save(update_fields=["volume_m3", "mass_kg"])
    move = OilMove(
        kind=booking.kind,
        source=source,
        target=target,
        volume_m3=volume,
        mass_kg=mass,
        typed=booking.typed,
        job_number=booking.job_number,
        occurred_at=now,
        note=booking.note,
        submission_key=booking.submission_key,
    )
    return append(move, stream="oil", actor=actor, now=now)


def checked_volume(volume_m3: float) -> Decimal:
    """Return a volume [m³] as it is booked; raises OilAmountImpossible for nothing, less, or far too much."""
    if not LEAST_M3 <= volume_m3 <= LARGEST_M3:
        raise OilAmountImpossible(_("An amount of oil above nothing, please."), field="amount")
    return Decimal(repr(volume_m3)).quantize(VOLUME_STEP, ROUND_HALF_EVEN)


def density_of(store: OilStore) -> Decimal | None:
    """Return the density [kg/m³] of what a place holds or held last; None where it is not one oil."""
    if store.lot is not None:
        return Decimal(repr(store.lot.density_kg_m3))
    if StoreKind(store.kind) not in {StoreKind.INJECTOR, StoreKind.VEHICLE}:
        return None
    if store.volume_m3 > 0:
        return store.mass_kg / store.volume_m3
    last = OilMove.objects.filter(target=store).order_by("-sequence").first()
    return last.mass_kg / last.volume_m3 if last else None


def _mass(source: OilStore, target: OilStore, volume: Decimal) -> Decimal:
    """Return the mass that goes with a volume; the last drop takes all that is left."""
    is_stock = StoreKind(source.kind).holds_stock
    if is_stock and volume == source.volume_m3:
        return source.mass_kg
    density = density_of(source) or density_of(target)
    if density is None:
        raise OilAmountImpossible(_("Nobody knows the density of this oil: fill from a lot first."))
    mass = (volume * density).quantize(MASS_STEP, ROUND_HALF_EVEN)
    return min(mass, source.mass_kg) if is_stock else mass


def _holds_less(source: OilStore, volume: Decimal, actor: Actor) -> str:
    units = units_for(shop_get(), actor.units)
    named = source.lot.code if source.lot else source.piece.code if source.piece else ""
    return _("%(name)s holds %(held)s; %(asked)s can't be taken from it.") % {
        "name": named,
        "held": amount_words(float(source.volume_m3), units=units),
        "asked": amount_words(float(volume), units=units),
    }
