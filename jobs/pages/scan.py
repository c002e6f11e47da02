"""What a scanned piece can be used for now: one card for each car that is being worked on."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime
from urllib.parse import urlencode

from django.utils.translation import gettext as _

from equipment.choices import PieceKind
from equipment.marks import Mark
from equipment.models import Connection, Piece
from equipment.pages.cards import PURGE_LIFTS, ShownReason, shown_reasons, tone_of
from equipment.policies import may_connect
from equipment.readiness import Decision, PieceFacts, piece_decision
from equipment.selectors import circuit_facts, piece_facts, today_at
from jobs.choices import JobStatus, StepKind
from jobs.models import Job
from jobs.pages.head import Head, head_of
from jobs.pages.pieces import name_of, piece_mark, piece_url
from jobs.pages.ways import Way, job_url, purge_url, step_url
from jobs.selectors import jobs_visible_to
from shopcool.core.actors import Actor
from shopcool.shop.models import Shop
from shopcool.shop.units import Units, units_for

#: More cars than a workshop has bays.
MOST_CARS = 12


@dataclass(frozen=True)
class CarCard:
    """One car in the workshop: what the piece would be told there, and what can be done with it.

    ``best`` is the way that leads on, ``others`` are open as well.
    """

    head: Head
    tone: str
    reasons: tuple[ShownReason, ...]
    best: Way | None
    others: tuple[Way, ...]
    is_in_hand: bool
    has_piece: bool

    @property
    def title(self) -> str:
        """Plate and car."""
        return f"{self.head.plate} · {self.head.car}"

    @property
    def card_tone(self) -> str:
        """The look of the card: the car at hand stands out."""
        return "current" if self.is_in_hand else ""


@dataclass(frozen=True)
class ScanPage:
    """A scanned piece and the cars it could be meant for, the one in hand first."""

    piece: Piece
    name: str
    kind: str
    mark: Mark
    url: str
    cars: tuple[CarCard, ...]
    holder: str
    holder_url: str


def scan_page(*, actor: Actor, piece: Piece, in_hand: str, shop: Shop, now: datetime) -> ScanPage | None:
    """Return the page, None when there is nothing to choose: then the page of the piece itself is meant.

    ``in_hand`` is the number of the job that was last opened on this tablet.
    """
    kind = PieceKind(piece.kind)
    if not may_connect(actor) or not kind.connects_to_vehicles or piece.retired_at is not None:
        return None
    jobs = _open_jobs(actor, in_hand)
    if not jobs:
        return None
    (facts,) = piece_facts([piece])
    numbers = [job.number for job in jobs]
    been_on = Connection.objects.filter(piece=piece, job_number__in=numbers)
    scanned = _Scanned(facts, in_hand, frozenset(been_on.values_list("job_number", flat=True)))
    today = today_at(shop, now)
    elsewhere = "" if facts.busy_on in numbers else facts.busy_on
    return ScanPage(
        piece=piece,
        name=name_of(facts),
        kind=str(kind.label),
        mark=piece_mark(facts),
        url=piece_url(piece.code),
        cars=tuple(_card(job, scanned, units_for(shop, actor.units), today) for job in jobs),
        holder=elsewhere,
        holder_url=job_url(elsewhere) if elsewhere else "",
    )


@dataclass(frozen=True)
class _Scanned:
    """The piece, the job in hand, and the jobs whose car the piece was let onto."""

    facts: PieceFacts
    in_hand: str
    been_on: frozenset[str]


def _open_jobs(actor: Actor, in_hand: str) -> list[Job]:
    """Return the cars that are being worked on: the one in hand, then the person's own, then the others."""
    jobs = jobs_visible_to(actor).filter(status=JobStatus.CHECKED_IN)[: MOST_CARS * 2]
    ranked = sorted(jobs, key=lambda job: (job.number != in_hand, job.technician_id != actor.user_id))
    return ranked[:MOST_CARS]


def _card(job: Job, scanned: _Scanned, units: Units, today: date) -> CarCard:
    facts = scanned.facts
    has_piece = facts.busy_on == job.number
    known = replace(facts, busy_on="") if has_piece else facts
    decision = piece_decision(circuit_facts(job.circuit), known, today)
    best, *others = _ways_from_car(job, scanned) if has_piece else _ways_to_car(job, scanned, decision)
    return CarCard(
        head=head_of(job, units),
        tone=tone_of(decision),
        reasons=() if has_piece else shown_reasons(decision),
        best=best,
        others=tuple(way for way in others if way),
        is_in_hand=job.number == scanned.in_hand,
        has_piece=has_piece,
    )


def _ways_from_car(job: Job, scanned: _Scanned) -> list[Way | None]:
    return [_injecting(job, scanned), Way(_("Open the job"), job_url(job.number))]


def _ways_to_car(job: Job, scanned: _Scanned, decision: Decision) -> list[Way | None]:
    """Return what can be done with a piece that is not on the car, what helps most first."""
    piece, plate = scanned.facts, {"plate": job.circuit.vehicle.registration}
    panel = f"{step_url(job.number, StepKind.CONNECTION)}?{urlencode({'pieces': piece.id})}"
    may_purge = piece.kind.can_be_purged and not piece.busy_on
    purge = Way(_("Put in the purge loop"), purge_url(job.number, [piece.id])) if may_purge else None
    injecting = _injecting(job, scanned)
    if decision.permitted:
        connect = Way(_("Connect to %(plate)s") % plate, panel)
        return [injecting, connect] if injecting else [connect, purge]
    refused = Way(_("Clearance for %(plate)s") % plate, panel)
    helps = decision.codes <= PURGE_LIFTS
    return [purge, refused] if helps else [None, refused, purge]


def _injecting(job: Job, scanned: _Scanned) -> Way | None:
    """Return the way to the oil step with this injector chosen, once a clearance has let it onto the car."""
    if scanned.facts.kind is not PieceKind.INJECTOR or job.number not in scanned.been_on:
        return None
    if scanned.facts.lubricant != job.circuit.lubricant:
        return None  # an owner may have let it onto the car; its oil still never goes in
    query = urlencode({"added": "yes", "way": "INJECTOR", "injector": scanned.facts.id})
    return Way(_("Use this injector"), f"{step_url(job.number, StepKind.OIL)}?{query}")
