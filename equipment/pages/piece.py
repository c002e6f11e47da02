"""The page of one piece: its condition, what it may be used for, its documents and its life."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta

from django.core.paginator import Page, Paginator
from django.db.models import QuerySet
from django.utils.translation import gettext as _

from equipment.attachments import document_parent
from equipment.choices import PieceKind, ResidueState
from equipment.ledger import Account, Content
from equipment.links import job_url
from equipment.models import Exposure, Piece, PieceDocument
from equipment.pages.cards import (
    PURGE_LIFTS,
    BoardPiece,
    ShownReason,
    board_piece,
    connections_now,
    label_words,
    last_contacts,
    purge_address,
    shown_reasons,
    tone_of,
)
from equipment.pages.instruments import InstrumentRow, instrument_row
from equipment.pages.life import LifeEntry, entries_of, life_entry, life_rows
from equipment.pages.maintenance import MaintenancePart, maintenance_part
from equipment.pages.measures import measure_pairs
from equipment.pages.words import SOON, contact_words, day_words, gas_words, holder_words
from equipment.policies import may_record_purge, may_see_equipment, may_withdraw_exposure
from equipment.readiness import Decision, PieceFacts
from equipment.selectors import piece_facts, today_at
from equipment.uses import prospect
from shopcool.attachments.gallery import Gallery, galleries
from shopcool.core.actors import Actor
from shopcool.core.components.drawings import Row
from shopcool.engineering.quantities import Kind, format_quantity
from shopcool.shop.models import Shop
from shopcool.shop.units import Units, units_for
from shopcool.vehicles.choices import Lubricant

ENTRIES_ON_A_PAGE = 20
DRAWN_DAYS = (14, 60, 365)


@dataclass(frozen=True)
class UseRow:
    """One kind of job with the verdict on the piece."""

    name: str
    tone: str
    word: str
    reasons: tuple[ShownReason, ...]


@dataclass(frozen=True)
class DocumentRow:
    """A document with what it says about its dates."""

    document: PieceDocument
    covers: str
    ends: str
    tone: str
    gallery: Gallery | None = None


@dataclass(frozen=True)
class DrawnSpan:
    """How many days the drawing shows, as a choice."""

    label: str
    url: str
    current: bool


@dataclass(frozen=True)
class PiecePage:
    """Everything the page of a piece shows."""

    piece: Piece
    card: BoardPiece
    sentence: str
    tone: str
    uses: tuple[UseRow, ...]
    identity: list[tuple[str, str]]
    documents: tuple[DocumentRow, ...]
    rows: list[Row]
    drawn_from: datetime
    drawn_to: datetime
    drawn: tuple[DrawnSpan, ...]
    entries: tuple[LifeEntry, ...]
    page: Page[Exposure]
    purge_url: str = ""
    shown_entry: LifeEntry | None = None
    instrument: InstrumentRow | None = None
    maintenance: MaintenancePart = field(default_factory=MaintenancePart)

    @property
    def is_wetted(self) -> bool:
        """Whether the piece can carry residue, so that its residue is worth showing."""
        return self.instrument is None

    @property
    def word(self) -> str:
        """The condition in a word or two."""
        return self.instrument.word if self.instrument else self.card.mark_word

    @property
    def is_machine(self) -> bool:
        """Whether the piece needs a certificate and calibrations."""
        return self.piece.kind == PieceKind.MACHINE


def pieces_on_record(actor: Actor) -> QuerySet[Piece]:
    """Return every piece there ever was, retired ones included: its life stays readable."""
    if not may_see_equipment(actor):
        return Piece.objects.none()
    return Piece.objects.select_related("state").order_by("code")


def piece_page(
    *,
    actor: Actor,
    piece: Piece,
    shop: Shop,
    now: datetime,
    page: str = "1",
    days: str = "",
    entry: str = "",
) -> PiecePage:
    """Return the page of a piece with one sheet of its log and a drawing of so many days.

    ``entry`` is the number of an entry in the log of the piece that is to be shown on top.
    """
    today = today_at(shop, now)
    (facts,) = piece_facts([piece])
    card = piece_card(facts, now, today)
    drawn_days = int(days) if days in {str(choice) for choice in DRAWN_DAYS} else DRAWN_DAYS[1]
    start = now - timedelta(days=drawn_days)
    sheet = Paginator(entries_of(piece.pk), ENTRIES_ON_A_PAGE).get_page(page)
    may_withdraw = may_withdraw_exposure(actor) and piece.retired_at is None
    sentence, tone = condition_words(piece, facts, card)
    instrument = None if facts.kind.is_wetted else instrument_row(facts, today)
    if instrument and piece.retired_at is None:
        sentence, tone = instrument.sentence, instrument.tone
    purge_url = purge_address(facts) if _purge_would_help(actor, piece, facts, today) else ""
    return PiecePage(
        piece=piece,
        card=card,
        sentence=sentence,
        tone=tone,
        uses=use_rows(facts, today, purge_url),
        identity=piece_identity(piece, facts, units_for(shop, actor.units)),
        documents=_document_rows(actor, piece, today),
        rows=life_rows(piece.pk, start, now),
        drawn_from=start,
        drawn_to=now,
        drawn=_drawn(drawn_days),
        entries=tuple(life_entry(exposure, may_withdraw=may_withdraw) for exposure in sheet),
        page=sheet,
        purge_url=purge_url,
        shown_entry=_shown_entry(piece, entry),
        instrument=instrument,
        maintenance=maintenance_part(actor, piece, today, units_for(shop, actor.units)),
    )


def _shown_entry(piece: Piece, entry: str) -> LifeEntry | None:
    if not entry.isdecimal() or len(entry) > 18:
        return None
    found = entries_of(piece.pk).filter(sequence=int(entry)).first()
    return life_entry(found, may_withdraw=False) if found else None


def _purge_would_help(actor: Actor, piece: Piece, facts: PieceFacts, today: date) -> bool:
    if not may_record_purge(actor) or not facts.kind.can_be_purged:
        return False
    is_free = piece.retired_at is None and not facts.busy_on
    return is_free and bool(prospect(facts, today).high_voltage.codes & PURGE_LIFTS)


def piece_card(facts: PieceFacts, now: datetime, today: date) -> BoardPiece:
    """Return the card of one piece with its last contact and who has it."""
    connection = connections_now([facts.id]).get(facts.id)
    contact = last_contacts([facts.id]).get(facts.id)
    return replace(
        board_piece(facts, prospect(facts, today), today),
        last_contact=contact_words(contact, now) if contact else "",
        holder=holder_words(connection, now) if connection else "",
        holder_url=job_url(connection.job_number) if connection else "",
    )


def condition_words(piece: Piece, facts: PieceFacts, card: BoardPiece) -> tuple[str, str]:
    """Return the condition of a piece in a sentence, and the tone in which to say it."""
    state = card.state.state
    if piece.retired_at is not None:
        return _("Retired on %(day)s: %(why)s") % _retired(piece, facts), "refusal"
    if state is ResidueState.OUT_OF_SERVICE:
        why = facts.out_of_service_reason or _("no reason noted")
        return _("Out of service: %(why)s") % {"why": why}, "refusal"
    if state is ResidueState.UNKNOWN:
        return _("Nobody knows what is inside. Unknown is not clean."), "unknown"
    if state is ResidueState.RESIDUE:
        what = {"what": card.oil}
        return _("It holds residue of %(what)s, which must not reach a high-voltage compressor.") % what, (
            "warning"
        )
    if state is ResidueState.DEDICATED:
        oil = {"oil": card.dedicated_to}
        return _("It may only ever touch %(oil)s circuits, and nothing else is inside.") % oil, "good"
    if facts.residue.lubricants:
        what = {"what": card.oil}
        return _("Nothing conductive and nothing unknown is inside, only traces of %(what)s.") % what, "good"
    return _("Nothing conductive and nothing unknown is inside."), "good"


def _retired(piece: Piece, facts: PieceFacts) -> dict[str, str]:
    day = day_words(piece.retired_at.date()) if piece.retired_at else ""
    return {"day": day, "why": facts.out_of_service_reason or _("no reason noted")}


# --- what it may be used for -------------------------------------------------------------------------


def use_rows(facts: PieceFacts, today: date, purge_url: str) -> tuple[UseRow, ...]:
    """Return the verdict on each kind of job, with every reason."""
    outlook = prospect(facts, today)
    if not facts.kind.is_wetted or (not facts.kind.connects_to_vehicles and not outlook.belt.reasons):
        return ()
    if not facts.kind.connects_to_vehicles:
        return (_use_row(_("Use in the workshop"), outlook.belt, purge_url),)
    jobs = ((_("High-voltage jobs"), outlook.high_voltage), (_("Belt jobs"), outlook.belt))
    return tuple(_use_row(name, decision, purge_url) for name, decision in jobs)


def _use_row(name: str, decision: Decision, purge_url: str) -> UseRow:
    words = {"refusal": _("Not now"), "warning": _("With care"), "good": _("Ready")}
    tone = tone_of(decision)
    return UseRow(name, tone, words[tone], shown_reasons(decision, purge_url))


# --- identity and documents --------------------------------------------------------------------------


def piece_identity(piece: Piece, facts: PieceFacts, units: Units) -> list[tuple[str, str]]:
    """Return what a piece is, as labelled values."""
    pairs = [
        (_("Kind"), str(facts.kind.label)),
        (_("Labelled for"), label_words(facts) if facts.refrigerant else ""),
        (_("Oil grade"), piece.lubricant_grade),
        (_("Dedicated to"), str(Lubricant(piece.dedicated_to).label) if piece.dedicated_to else ""),
        (_("Class"), piece.glove_class),
        (_("First issued on"), day_words(piece.issued_on) if piece.issued_on else ""),
        (_("Maker"), piece.maker),
        (_("Serial number"), piece.serial_number),
    ]
    kept = [(label, value) for label, value in pairs if value]
    return [*kept, *_injection(facts), *measure_pairs(piece, units), *_held(facts, units)]


def _held(facts: PieceFacts, units: Units) -> Sequence[tuple[str, str]]:
    account = Account.objects.filter(piece_id=facts.id).first()
    if account is None or not account.balance_kg:
        return ()
    held = format_quantity(float(account.balance_kg), Kind.MASS, units.bulk_mass, digits=3)
    return ((_("Holds"), f"{held} {Content(account.content).label}"),)


def _injection(facts: PieceFacts) -> Sequence[tuple[str, str]]:
    if facts.kind is not PieceKind.MACHINE:
        return ()
    words = {True: _("can"), False: _("can't"), None: _("nobody has said")}
    return (
        (_("Injects oil"), words[facts.can_inject_oil]),
        (_("Injects dye"), words[facts.can_inject_dye]),
    )


def _document_rows(actor: Actor, piece: Piece, today: date) -> tuple[DocumentRow, ...]:
    documents = list(piece.documents.select_related("piece").order_by("-issued_on", "-pk"))
    parents = [document_parent(document) for document in documents]
    attached = galleries(actor, parents)
    return tuple(
        replace(_document_row(document, today), gallery=attached[parent.key])
        for document, parent in zip(documents, parents, strict=True)
    )


def _document_row(document: PieceDocument, today: date) -> DocumentRow:
    covers = gas_words(document.refrigerants)
    if document.covers_high_voltage:
        covers = ", ".join(part for part in (covers, _("high-voltage compressors")) if part)
    if document.lubricants:
        oils = ", ".join(str(Lubricant(oil).label) for oil in document.lubricants)
        covers = ", ".join(part for part in (covers, oils) if part)
    if document.valid_until is None:
        return DocumentRow(document, covers, _("no end"), "good")
    ends = day_words(document.valid_until)
    if document.valid_until < today:
        return DocumentRow(document, covers, _("ran out on %(day)s") % {"day": ends}, "refusal")
    tone = "warning" if document.valid_until - today <= SOON else "good"
    return DocumentRow(document, covers, ends, tone)


def _drawn(days: int) -> tuple[DrawnSpan, ...]:
    return tuple(
        DrawnSpan(_("%(days)s days") % {"days": choice}, f"?days={choice}#life", choice == days)
        for choice in DRAWN_DAYS
    )
