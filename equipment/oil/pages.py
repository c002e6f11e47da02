"""The oil shelf, the page of a lot, and what the page of an injector says about the oil inside."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.core.paginator import Page, Paginator
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from equipment.choices import PieceKind
from equipment.links import job_url, vehicle_url
from equipment.models import Piece
from equipment.oil.actions import ACTIONS
from equipment.oil.filling import unfit_words
from equipment.oil.grades import LotState
from equipment.oil.models import MoveKind, OilLot, OilMove, OilStore, OilTest, StoreKind
from equipment.oil.selectors import (
    LotNow,
    Received,
    bad_lots_in,
    injectors_with,
    lots_now,
    lots_visible_to,
    moves_of_injector,
    moves_of_lot,
    vehicles_with,
)
from equipment.oil.words import STATE_WORDS, Words, amount_words
from equipment.pages.words import day_words
from equipment.policies import may_handle_oil, may_manage_equipment
from shopcool.core.actors import Actor
from shopcool.core.unit_choices import VolumeUnit
from shopcool.engineering.quantities import Kind
from shopcool.shop.models import Shop
from shopcool.shop.units import Units, units_for

ON_A_PAGE = 50
MOVES_SHOWN = 30


@dataclass(frozen=True)
class ShelfRow:
    """One lot on the shelf."""

    lot: OilLot
    url: str
    left: str
    opened: str
    word: Words
    tone: str


@dataclass(frozen=True)
class Tab:
    """A part of the shelf."""

    label: str
    url: str
    current: bool


@dataclass(frozen=True)
class Shelf:
    """The page of all lots."""

    rows: tuple[ShelfRow, ...]
    page: Page[OilLot]
    tabs: tuple[Tab, ...]
    may_handle: bool
    is_new: bool


@dataclass(frozen=True)
class Button:
    """A way to do something."""

    label: Words
    url: str
    tone: str = ""


@dataclass(frozen=True)
class MoveShown:
    """One movement as a timeline tells it."""

    at: datetime
    title: str
    text: str
    who: str
    url: str
    kind: str = "plain"


@dataclass(frozen=True)
class Went:
    """An injector or a vehicle that received oil of a lot."""

    name: str
    url: str
    at: datetime
    amount: str
    note: str
    job_number: str = ""
    job_url: str = ""


@dataclass(frozen=True)
class LotPage:
    """Everything the page of a lot shows."""

    lot: OilLot
    word: Words
    tone: str
    sentence: str
    left: str
    grams: str
    facts: list[tuple[str, str]]
    buttons: tuple[Button, ...]
    moves: tuple[MoveShown, ...]
    tests: tuple[MoveShown, ...]
    injectors: tuple[Went, ...]
    vehicles: tuple[Went, ...]


@dataclass(frozen=True)
class InjectorOil:
    """What an injector holds, what may be done with it, and where its oil came from and went."""

    holds: str
    grams: str
    sentence: str
    tone: str
    buttons: tuple[Button, ...]
    moves: tuple[MoveShown, ...]

    @property
    def note_tone(self) -> str:
        """The tone as notes know it."""
        return "refusal" if self.tone == "refusal" else "plain"


def shelf(*, actor: Actor, shop: Shop, now: datetime, page: str, part: str) -> Shelf:
    """Return one sheet of the lots in use, or of those that are gone."""
    visible = lots_visible_to(actor)
    gone = part == "gone"
    wanted = (
        visible.exclude(bad_at__isnull=True, store__volume_m3__gt=0)
        if gone
        else visible.filter(bad_at__isnull=True, store__volume_m3__gt=0)
    )
    sheet = Paginator(wanted.order_by("lubricant", "grade", "code"), ON_A_PAGE).get_page(page)
    here = reverse("equipment:oil_shelf")
    return Shelf(
        rows=tuple(_row(one, units_for(shop, actor.units)) for one in lots_now(sheet, shop=shop, now=now)),
        page=sheet,
        tabs=(
            Tab(_("On the shelf"), here, not gone),
            Tab(_("Empty or bad"), f"{here}?part=gone", gone),
        ),
        may_handle=may_handle_oil(actor),
        is_new=not sheet.object_list and not visible.exists(),
    )


def _row(one: LotNow, units: Units) -> ShelfRow:
    word, tone = STATE_WORDS[one.state]
    return ShelfRow(
        lot=one.lot,
        url=reverse("equipment:oil_lot", args=[one.lot.code]),
        left=amount_words(one.volume_m3, one.mass_kg, units=units),
        opened=_open_words(one),
        word=word,
        tone=tone,
    )


def _open_words(one: LotNow) -> str:
    if one.days_open is None:
        return _("not opened")
    if one.limit_days is None:
        return ngettext("%(days)s day", "%(days)s days", one.days_open) % {"days": one.days_open}
    return _("day %(days)s of %(limit)s") % {"days": one.days_open, "limit": one.limit_days}


def lot_page(*, actor: Actor, lot: LotNow, units: Units) -> LotPage:
    """Return the page of a lot: state, amounts, what happened, and where its oil went."""
    word, tone = STATE_WORDS[lot.state]
    code = lot.lot.code
    buttons = tuple(
        Button(action.label, reverse(f"equipment:oil_{action.slug}", args=[code]), action.tone)
        for action in ACTIONS
        if may_handle_oil(actor) and action.is_offered(lot)
    )
    moves = moves_of_lot(lot.lot)[:MOVES_SHOWN]
    return LotPage(
        lot=lot.lot,
        word=word,
        tone=tone,
        sentence=_lot_sentence(lot),
        left=units.shown(lot.volume_m3, Kind.VOLUME),
        grams=_other_amounts(lot.volume_m3, lot.mass_kg, units),
        facts=_facts(lot),
        buttons=buttons,
        moves=tuple(_move(move, units) for move in moves),
        tests=tuple(_test(test) for test in lot.lot.tests.order_by("-sequence")),
        injectors=tuple(_injector(move, units) for move in injectors_with(lot.lot)),
        vehicles=tuple(_vehicle(one, units) for one in vehicles_with(lot.lot)),
    )


def _lot_sentence(lot: LotNow) -> str:
    if not lot.state.may_be_dispensed:
        return unfit_words(lot)
    if lot.state is LotState.LOW:
        return _("It may be used. Little is left in it.")
    if lot.state is LotState.SEALED:
        return _("It may be used. Its days count from the first opening.")
    return _("It may be used: %(days)s.") % {"days": _open_words(lot)}


def _other_amounts(volume_m3: float, mass_kg: float, units: Units) -> str:
    """Return an amount in what the reader's own unit leaves out."""
    in_grams = amount_words(volume_m3, mass_kg, units=units).partition(" = ")[2]
    if units.volume == VolumeUnit.MILLILITRE:
        return in_grams
    return f"{amount_words(volume_m3, units=units.metric)} = {in_grams}"


def _facts(lot: LotNow) -> list[tuple[str, str]]:
    it = lot.lot
    opened = day_words(it.opened_at.date()) if it.opened_at else _("not opened")
    return [
        (_("Oil class"), str(it.get_lubricant_display())),
        (_("Grade"), it.grade),
        (_("Supplier"), it.supplier),
        (_("Batch number"), it.batch),
        (_("Container"), it.container_typed),
        (_("Density"), f"{it.density_typed}, {it.density_source}"),
        (_("Received on"), day_words(it.received_on)),
        (_("Opened"), opened if lot.days_open is None else f"{opened}, {_open_words(lot)}"),
        (_("Order again below"), it.low_typed or _("no level set")),
    ]


def _move(move: OilMove, units: Units) -> MoveShown:
    words = {"from": _place(move.source), "to": _place(move.target)}
    text = _("%(from)s → %(to)s") % words
    if move.note:
        text = f"{text}. {move.note}"
    amount = amount_words(float(move.volume_m3), float(move.mass_kg), units=units)
    return MoveShown(
        at=move.occurred_at,
        title=f"{move.get_kind_display()}: {amount}",
        text=text,
        who=move.recorded_by_name,
        url=job_url(move.job_number),
        kind={MoveKind.ADDED: "connection", MoveKind.WASTED: "warning"}.get(MoveKind(move.kind), "plain"),
    )


def _place(store: OilStore) -> str:
    if store.lot is not None:
        return store.lot.code
    if store.piece is not None:
        return store.piece.code
    if store.circuit is not None:
        return str(store.circuit.vehicle.registration)
    return str(StoreKind(store.kind).label)


def _test(test: OilTest) -> MoveShown:
    typed = test.readings["resistance"]["typed"]
    tone = "refusal" if test.speaks_against else "good"
    text = f"{test.sentence} {test.note}".strip()
    title = _("Vial test: %(typed)s") % {"typed": typed}
    return MoveShown(test.occurred_at, title, text, test.recorded_by_name, "", tone)


def _injector(move: OilMove, units: Units) -> Went:
    piece = move.target.piece
    code = piece.code if piece else ""
    return Went(
        name=str(piece),
        url=reverse("equipment:piece", args=[code]),
        at=move.occurred_at,
        amount=amount_words(float(move.volume_m3), float(move.mass_kg), units=units),
        note=_("retired") if piece and piece.retired_at else "",
    )


def _vehicle(one: Received, units: Units) -> Went:
    move, circuit = one.move, one.move.target.circuit
    notes = [_("through %(piece)s") % {"piece": one.through.code}] if one.through else [_("into a new part")]
    if one.traces_only:
        notes.append(_("traces at most: the injector had been emptied"))
    return Went(
        name=str(circuit.vehicle) if circuit else "",
        url=vehicle_url(circuit.vehicle_id) if circuit else "",
        at=move.occurred_at,
        amount=amount_words(float(move.volume_m3), float(move.mass_kg), units=units),
        note=", ".join(notes),
        job_number=move.job_number,
        job_url=job_url(move.job_number),
    )


def injector_oil(*, actor: Actor, piece: Piece, units: Units) -> InjectorOil | None:
    """Return what an injector holds; None for every other piece."""
    if piece.kind != PieceKind.INJECTOR:
        return None
    store = OilStore.objects.filter(piece=piece).first()
    volume, mass = (float(store.volume_m3), float(store.mass_kg)) if store else (0.0, 0.0)
    sentence, tone = _injector_sentence(piece, volume)
    return InjectorOil(
        holds=units.shown(volume, Kind.VOLUME),
        grams=_other_amounts(volume, mass, units),
        sentence=sentence,
        tone=tone,
        buttons=_injector_buttons(actor, piece, volume),
        moves=tuple(_move(move, units) for move in moves_of_injector(piece)[:MOVES_SHOWN]),
    )


def _injector_sentence(piece: Piece, volume_m3: float) -> tuple[str, str]:
    bad = bad_lots_in([piece.pk])
    if bad:
        lot = {"lot": bad[piece.pk]}
        return _(
            "It has held oil of lot %(lot)s, which was found bad. Take another injector."
        ) % lot, "refusal"
    if volume_m3 <= 0:
        return _("Nothing is inside by the books. Fill it before it goes to a car."), "unknown"
    return _("It is filled only with the oil of its label."), "good"


def _injector_buttons(actor: Actor, piece: Piece, volume_m3: float) -> tuple[Button, ...]:
    if piece.retired_at is not None:
        return ()
    buttons: list[Button] = []
    if may_handle_oil(actor):
        buttons.append(Button(_("Fill it"), reverse("equipment:fill", args=[piece.code]), "primary"))
        buttons += _held_buttons(piece, volume_m3)
    if may_manage_equipment(actor):
        url = reverse("equipment:injector_replace", args=[piece.code])
        buttons.append(Button(_("Retire and start a new one"), url))
    return tuple(buttons)


def _held_buttons(piece: Piece, volume_m3: float) -> Sequence[Button]:
    offered: Iterable[str] = ("measure", "waste") if volume_m3 > 0 else ("measure",)
    return [
        Button(action.label, reverse(f"equipment:injector_{action.slug}", args=[piece.code]))
        for action in ACTIONS
        if action.for_injectors and action.slug in offered
    ]
