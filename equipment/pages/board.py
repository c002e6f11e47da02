"""The readiness board: every piece by what can be done with it now, in a constant number of queries."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from django.core.paginator import Page, Paginator
from django.utils.functional import Promise
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from equipment.choices import PieceKind
from equipment.links import job_url
from equipment.models import Piece
from equipment.pages.cards import (
    BoardPiece,
    ShownReason,
    board_piece,
    connections_now,
    last_contacts,
    purge_address,
    shown_reasons,
    tone_of,
)
from equipment.pages.instruments import InstrumentRow, instrument_rows
from equipment.pages.outlook import Outlook, outlook
from equipment.pages.sorting import sorted_by_use, sorted_for_circuit
from equipment.pages.words import contact_words, holder_words
from equipment.policies import may_record_purge
from equipment.readiness import (
    CircuitFacts,
    ClearanceRequest,
    Decision,
    Identification,
    PersonFacts,
    PieceFacts,
    VisitFacts,
    decide,
    piece_decision,
)
from equipment.selectors import piece_facts, pieces_visible_to, today_at
from equipment.uses import Use, prospect
from shopcool.core.actors import Actor
from shopcool.shop.models import Shop

Words = str | Promise

#: As many pieces of a group are shown at once; the others are counted, with the way to them.
SHOWN = 48


@dataclass(frozen=True)
class Asked:
    """The car that the board is asked about: one on file, or a kind of car."""

    facts: CircuitFacts
    title: Words
    note: Words
    words: tuple[str, ...]
    query: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Choice:
    """What the address of the board chose: a kind of piece, one group alone and a sheet of it, a car."""

    kind: str = ""
    group: str = ""
    page: str = "1"
    asked: Asked | None = None

    def address(self, **changed: str) -> str:
        """Return the address of the same board with something chosen otherwise."""
        query = {"kind": self.kind, "group": self.group, **changed}
        chosen = {name: value for name, value in query.items() if value}
        return f"?{urlencode([*chosen.items(), *(self.asked.query if self.asked else ())])}"


@dataclass(frozen=True)
class BoardGroup:
    """The pieces that can be used for the same now: how many, and a sheet of them."""

    code: str
    title: Words
    text: Words
    pieces: tuple[BoardPiece, ...]
    total: int
    all_url: str = ""
    sheet: Page[PieceFacts] | None = None

    @property
    def is_for_vehicles(self) -> bool:
        """Whether its pieces are ever put on a vehicle."""
        return self.code != Use.OFF_VEHICLES

    @property
    def left_out(self) -> int:
        """How many pieces of the group are not shown here."""
        return self.total - len(self.pieces)


@dataclass(frozen=True)
class KindFilter:
    """One kind of piece with how many there are."""

    label: Words
    url: str
    current: bool
    count: int


@dataclass(frozen=True)
class Board:
    """The whole page: groups of pieces, the filters, and what stands against the chosen circuit itself."""

    groups: tuple[BoardGroup, ...]
    kinds: tuple[KindFilter, ...]
    total: int
    as_of: datetime
    outlook: Outlook
    asked: Asked | None = None
    circuit_reasons: tuple[ShownReason, ...] = ()
    circuit_tone: str = ""
    every_group_url: str = ""
    instruments: tuple[InstrumentRow, ...] = ()
    instruments_total: int = 0


USES: dict[Use, tuple[Words, Words]] = {
    Use.HIGH_VOLTAGE: (
        gettext_lazy("Ready for high-voltage jobs"),
        gettext_lazy(
            "Nothing conductive, nothing unknown inside. Good for belt jobs, too, unless dedicated."
        ),
    ),
    Use.BELT: (
        gettext_lazy("Ready for belt jobs"),
        gettext_lazy("Keep these away from every high-voltage compressor."),
    ),
    Use.AFTER_PURGE: (
        gettext_lazy("After a line purge"),
        gettext_lazy("A verified purge of the loop makes these ready."),
    ),
    Use.NOT_NOW: (gettext_lazy("Not now"), gettext_lazy("Each says what it waits for.")),
    Use.OFF_VEHICLES: (
        gettext_lazy("Stays off vehicles"),
        gettext_lazy("Cylinders and bottles are filled from the machine."),
    ),
}
ALL = Choice()

CAR_GROUPS: dict[str, tuple[Words, Words]] = {
    "good": (gettext_lazy("May go on this car now"), gettext_lazy("Nothing refuses these pieces.")),
    "unknown": (
        gettext_lazy("Not before the label is known"),
        gettext_lazy("Nothing refuses these pieces themselves."),
    ),
    "purge": (gettext_lazy("After a line purge"), gettext_lazy("A verified purge lifts what refuses these.")),
    "refusal": (gettext_lazy("Not on this car"), gettext_lazy("Each with every reason.")),
}


def board_page(*, actor: Actor, shop: Shop, now: datetime, choice: Choice = ALL) -> Board:
    """Return the board of everything the person may see, perhaps of one kind and for one car.

    At most SHOWN pieces of each group get their card; the queries do not grow with the pieces.
    """
    pieces = list(pieces_visible_to(actor))
    today = today_at(shop, now)
    every = piece_facts([piece for piece in pieces if choice.kind in {"", piece.kind}])
    facts = [piece for piece in every if piece.kind.is_wetted]
    kinds = _kinds(pieces, choice)
    page = Board((), kinds, len(pieces), now, outlook(today, shop), choice.asked)
    if choice.asked is None and not choice.group:
        instruments = instrument_rows([piece for piece in every if not piece.kind.is_wetted], today)
        page = replace(page, instruments=instruments[:SHOWN], instruments_total=len(instruments))
    if choice.group:
        page = replace(page, every_group_url=choice.address(group=""))
    if choice.asked is None:
        groups = _by_use(facts, today, choice)
        return replace(page, groups=_with_cards(_on_sheets(groups, choice, SHOWN), now, today))
    circuit = choice.asked.facts
    against = circuit_decision(circuit, today)
    groups = _by_car(facts, circuit, today, choice, label_is_known=against.permitted)
    cards = _with_cards(_on_sheets(groups, choice, SHOWN), now, today)
    decided = _decided(cards, facts, circuit, today, may_purge=may_record_purge(actor))
    reasons, tone = shown_reasons(against), tone_of(against)
    return replace(page, groups=decided, circuit_reasons=reasons, circuit_tone=tone)


def groups_by_use(
    pieces: Sequence[Piece], *, now: datetime, today: date, shown: int
) -> tuple[BoardGroup, ...]:
    """Return the groups of the board, the first pieces of each with their cards."""
    groups = _by_use(piece_facts(pieces), today, ALL)
    return _with_cards(_on_sheets(groups, ALL, shown), now, today)


Group = tuple[BoardGroup, list[PieceFacts]]


def _by_use(pieces: Sequence[PieceFacts], today: date, choice: Choice) -> list[Group]:
    always = {Use.HIGH_VOLTAGE.value, Use.BELT.value}
    found = sorted_by_use(pieces, today)
    return [
        _group(code, USES[Use(code)], found[code], choice) for code in found if found[code] or code in always
    ]


def _by_car(
    pieces: Sequence[PieceFacts], circuit: CircuitFacts, today: date, choice: Choice, *, label_is_known: bool
) -> list[Group]:
    found = sorted_for_circuit(pieces, circuit, today, label_is_known=label_is_known)
    always = {"good"} if label_is_known else set()
    return [
        _group(code, CAR_GROUPS[code], found[code], choice) for code in found if found[code] or code in always
    ]


def _group(code: str, words: tuple[Words, Words], pieces: list[PieceFacts], choice: Choice) -> Group:
    url = choice.address(group=code)
    return BoardGroup(code, *words, pieces=(), total=len(pieces), all_url=url), pieces


def _on_sheets(groups: list[Group], choice: Choice, shown: int) -> list[Group]:
    """Return the first pieces of each group, or one sheet of the group that was chosen alone."""
    if not choice.group:
        return [(group, pieces[:shown]) for group, pieces in groups]
    alone = [(group, Paginator(pieces, SHOWN)) for group, pieces in groups if group.code == choice.group]
    sheets = [(group, paginator.get_page(choice.page)) for group, paginator in alone]
    return [(replace(group, sheet=sheet), list(sheet)) for group, sheet in sheets]


def _with_cards(groups: list[Group], now: datetime, today: date) -> tuple[BoardGroup, ...]:
    ids = [facts.id for _group, pieces in groups for facts in pieces]
    connections, contacts = connections_now(ids), last_contacts(ids)

    def card(facts: PieceFacts) -> BoardPiece:
        connection, contact = connections.get(facts.id), contacts.get(facts.id)
        return replace(
            board_piece(facts, prospect(facts, today), today),
            last_contact=contact_words(contact, now) if contact else "",
            holder=holder_words(connection, now) if connection else "",
            holder_url=job_url(connection.job_number) if connection else "",
        )

    return tuple(replace(group, pieces=tuple(map(card, pieces))) for group, pieces in groups)


def _decided(
    groups: Sequence[BoardGroup],
    pieces: Sequence[PieceFacts],
    circuit: CircuitFacts,
    today: date,
    *,
    may_purge: bool,
) -> tuple[BoardGroup, ...]:
    """Return the groups with the decision of the clearance rules on each piece that is shown."""
    facts_of = {facts.id: facts for facts in pieces}

    def card(code: str, piece: BoardPiece) -> BoardPiece:
        facts = facts_of[piece.id]
        decision = piece_decision(circuit, facts, today)
        reasons = shown_reasons(decision, purge_address(facts) if may_purge and code == "purge" else "")
        waits = code == "unknown"
        tone, word = ("unknown", _("Waits for the label")) if waits else (tone_of(decision), "")
        return replace(piece, tone=tone, word=word, reasons=reasons)

    return tuple(
        replace(group, pieces=tuple(card(group.code, piece) for piece in group.pieces)) for group in groups
    )


def circuit_decision(circuit: CircuitFacts, today: date) -> Decision:
    """Return what stands against the circuit itself, whichever pieces are taken: label and suspicion."""
    request = ClearanceRequest(
        circuit=circuit,
        pieces=(),
        person=PersonFacts(name="", refrigerant_competence=True, high_voltage_competence=True),
        visit=VisitFacts(job_number="", identification=Identification.PASSED, oil_bottle_read=True),
        today=today,
    )
    return Decision(tuple(reason for reason in decide(request).reasons if reason.code != "no_piece"))


def _kinds(pieces: Sequence[Piece], choice: Choice) -> tuple[KindFilter, ...]:
    counts = Counter(piece.kind for piece in pieces)
    everything = KindFilter(_("All"), choice.address(kind="", group=""), not choice.kind, len(pieces))
    kinds = (
        KindFilter(one.label, choice.address(kind=one.value, group=""), choice.kind == one.value, counts[one])
        for one in PieceKind
        if counts[one]
    )
    return (everything, *kinds)
