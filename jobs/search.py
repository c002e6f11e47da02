"""Find from anywhere: vehicles by plate, VIN or customer, pieces by code, jobs by number."""

from __future__ import annotations

from dataclasses import dataclass
from functools import reduce
from operator import and_
from urllib.parse import quote

from django.db.models import Q, QuerySet

from equipment.models import Piece
from equipment.public_ids import LENGTH, LETTERS
from equipment.selectors import pieces_visible_to
from jobs.models import Job
from jobs.selectors import jobs_visible_to
from shopcool.core.actors import Actor
from shopcool.vehicles.models import Vehicle
from shopcool.vehicles.selectors import bare, folded, vehicles_matching, vehicles_visible_to

AT_MOST = 20


@dataclass(frozen=True)
class Found:
    """What a search found, each list cut at ``AT_MOST``."""

    query: str
    jobs: tuple[Job, ...] = ()
    vehicles: tuple[Vehicle, ...] = ()
    pieces: tuple[Piece, ...] = ()

    @property
    def query_in_address(self) -> str:
        """The query as an address carries it."""
        return quote(self.query)

    @property
    def is_empty(self) -> bool:
        """Whether nothing was found."""
        return not (self.jobs or self.vehicles or self.pieces)


def search(*, actor: Actor, query: str) -> Found:
    """Return what the actor may see and the query names; spaces, hyphens and case don't matter."""
    query = " ".join(query.split())[:100]
    if not folded(query):
        return Found(query)
    return Found(
        query=query,
        jobs=tuple(_jobs(actor, query)[:AT_MOST]),
        vehicles=tuple(vehicles_matching(vehicles_visible_to(actor), query)[:AT_MOST]),
        pieces=tuple(_pieces(actor, query)[:AT_MOST]),
    )


def cars_to_book(actor: Actor, query: str) -> list[Vehicle]:
    """Return the vehicles that a booking may mean; none for an empty query."""
    if not folded(query):
        return []
    return list(vehicles_matching(vehicles_visible_to(actor), query)[:AT_MOST])


def _jobs(actor: Actor, query: str) -> QuerySet[Job]:
    visible = jobs_visible_to(actor).annotate(bare_number=bare("number"))
    named = Q(bare_number__contains=folded(query))
    cars = vehicles_matching(vehicles_visible_to(actor), query).order_by().values("pk")
    return visible.filter(named | Q(circuit__vehicle__in=cars))


def piece_scanned(*, actor: Actor, query: str) -> Piece | None:
    """Return the piece whose label was read into the search, as an address or as its bare name."""
    name = query.strip().rsplit("/", 1)[-1].lower()
    if len(name) != LENGTH or not set(name) <= set(LETTERS):
        return None
    return pieces_visible_to(actor).filter(public_id=name).first()


def _pieces(actor: Actor, query: str) -> QuerySet[Piece]:
    visible = pieces_visible_to(actor).annotate(bare_code=bare("code"))
    in_name = reduce(and_, (Q(name__icontains=word) for word in query.split()))
    return visible.filter(Q(bare_code__contains=folded(query)) | in_name)
