"""The readiness board: every piece by what can be done with it now, in a constant number of queries."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

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
from equipment.selectors import circuit_facts, piece_facts, pieces_visible_to, today_at
from equipment.uses import Prospect, Use, prospect, purge_clears_for
from shopcool.core.actors import Actor
from shopcool.shop.models import Shop
from shopcool.vehicles.models import Circuit

Words = str | Promise


@dataclass(frozen=True)
class BoardGroup:
    """The pieces that can be used for the same now."""

    code: str
    title: Words
    text: Words
    pieces: tuple[BoardPiece, ...]

    @property
    def is_for_vehicles(self) -> bool:
        """Whether its pieces are ever put on a vehicle."""
        return self.code != Use.OFF_VEHICLES


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
    circuit: Circuit | None = None
    circuit_reasons: tuple[ShownReason, ...] = ()
    circuit_tone: str = ""


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
CAR_GROUPS: dict[str, tuple[Words, Words]] = {
    "good": (gettext_lazy("May go on this car now"), gettext_lazy("Nothing refuses these pieces.")),
    "unknown": (
        gettext_lazy("Not before the label is known"),
        gettext_lazy("Nothing refuses these pieces themselves."),
    ),
    "purge": (gettext_lazy("After a line purge"), gettext_lazy("A verified purge lifts what refuses these.")),
    "refusal": (gettext_lazy("Not on this car"), gettext_lazy("Each with every reason.")),
}


def board_page(
    *, actor: Actor, shop: Shop, now: datetime, kind: str = "", circuit: Circuit | None = None
) -> Board:
    """Return the board of everything the person may see, perhaps of one kind and for one circuit."""
    pieces = list(pieces_visible_to(actor))
    today = today_at(shop, now)
    shown = [piece for piece in pieces if kind in {"", piece.kind}]
    rows = _rows(shown, now, today)
    kinds = _kinds(pieces, kind, circuit)
    if circuit is None:
        return Board(_by_use(rows), kinds, len(pieces), now)
    facts = circuit_facts(circuit)
    against = circuit_decision(facts, today)
    may_purge = may_record_purge(actor)
    groups = _by_car(rows, facts, today, label_is_known=against.permitted, may_purge=may_purge)
    reasons = shown_reasons(against)
    return Board(groups, kinds, len(pieces), now, circuit, reasons, tone_of(against))


Row = tuple[PieceFacts, Prospect, BoardPiece]


def _rows(pieces: Sequence[Piece], now: datetime, today: date) -> list[Row]:
    ids = [piece.pk for piece in pieces]
    connections = connections_now(ids)
    contacts = last_contacts(ids)
    rows = []
    for facts in piece_facts(pieces):
        outlook = prospect(facts, today)
        card = board_piece(facts, outlook, today)
        connection, contact = connections.get(facts.id), contacts.get(facts.id)
        card = replace(
            card,
            last_contact=contact_words(contact, now) if contact else "",
            holder=holder_words(connection, now) if connection else "",
            holder_url=job_url(connection.job_number) if connection else "",
        )
        rows.append((facts, outlook, card))
    return rows


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


def _by_use(rows: Sequence[Row]) -> tuple[BoardGroup, ...]:
    def of(use: Use) -> tuple[BoardPiece, ...]:
        return tuple(card for _facts, outlook, card in rows if outlook.use is use)

    always = {Use.HIGH_VOLTAGE, Use.BELT}
    groups = [BoardGroup(use.value, title, text, of(use)) for use, (title, text) in USES.items()]
    return tuple(group for group in groups if group.pieces or group.code in always)


def _by_car(
    rows: Sequence[Row], circuit: CircuitFacts, today: date, *, label_is_known: bool, may_purge: bool
) -> tuple[BoardGroup, ...]:
    sorted_in: dict[str, list[BoardPiece]] = {code: [] for code in CAR_GROUPS}
    for facts, _outlook, card in rows:
        if not facts.kind.connects_to_vehicles:
            continue
        decision = piece_decision(circuit, facts, today)
        code = _car_group(circuit, facts, decision, today, label_is_known)
        reasons = shown_reasons(decision, purge_address(facts) if may_purge and code == "purge" else "")
        waits = code == "unknown"
        tone, word = ("unknown", _("Waits for the label")) if waits else (tone_of(decision), "")
        sorted_in[code].append(replace(card, tone=tone, word=word, reasons=reasons))
    return tuple(
        BoardGroup(code, title, text, tuple(sorted_in[code]))
        for code, (title, text) in CAR_GROUPS.items()
        if sorted_in[code] or (code == "good" and label_is_known)
    )


def _car_group(
    circuit: CircuitFacts, facts: PieceFacts, decision: Decision, today: date, label_is_known: bool
) -> str:
    if decision.permitted:
        return "good" if label_is_known else "unknown"
    return "purge" if purge_clears_for(circuit, facts, today) else "refusal"


def _kinds(pieces: Sequence[Piece], kind: str, circuit: Circuit | None) -> tuple[KindFilter, ...]:
    counts = Counter(piece.kind for piece in pieces)
    rest: dict[str, str | int] = {"circuit": circuit.pk} if circuit else {}
    everything = KindFilter(_("All"), f"?{urlencode(rest)}", not kind, len(pieces))
    kinds = (
        KindFilter(one.label, f"?{urlencode({'kind': one.value, **rest})}", kind == one.value, counts[one])
        for one in PieceKind
        if counts[one]
    )
    return (everything, *kinds)
