"""The page that says where a residue can have gone, or where it can have come from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db.models import QuerySet
from django.urls import reverse

from equipment.models import Piece
from equipment.policies import may_see_equipment
from equipment.trace import Direction, Place, Reached, trace
from shopcool.core.actors import Actor
from shopcool.vehicles.models import Circuit

#: More is a list that nobody follows up; how many there are is said.
SHOWN = 200


@dataclass(frozen=True)
class TraceRow:
    """A car or a piece that was reached, with the way to its own trace."""

    name: str
    note: str
    url: str
    at: datetime


@dataclass(frozen=True)
class TracePage:
    """What was reached besides what was asked about, cars first since they matter most."""

    cars: tuple[TraceRow, ...]
    pieces: tuple[TraceRow, ...]
    car_total: int
    piece_total: int
    at: datetime
    is_onward: bool


def circuits_on_record(actor: Actor) -> QuerySet[Circuit]:
    """Return the circuits whose trace the person may see."""
    return Circuit.objects.select_related("vehicle") if may_see_equipment(actor) else Circuit.objects.none()


def trace_page(place: Place, id: int, at: datetime, direction: Direction) -> TracePage:
    """Return the trace of a piece or circuit from, or up to, a moment, with three queries."""
    _itself, *found = trace(place, id, at, direction)
    circuits = [row for row in found if row.place is Place.CIRCUIT]
    pieces = [row for row in found if row.place is Place.PIECE]
    return TracePage(
        cars=_cars(circuits[:SHOWN], direction),
        pieces=_pieces(pieces[:SHOWN], direction),
        car_total=len(circuits),
        piece_total=len(pieces),
        at=at,
        is_onward=direction is Direction.TO,
    )


def _cars(rows: Sequence[Reached], direction: Direction) -> tuple[TraceRow, ...]:
    known = Circuit.objects.select_related("vehicle").in_bulk([row.id for row in rows])
    return tuple(
        TraceRow(
            name=str(known[row.id].vehicle),
            note=f"{known[row.id].get_drive_display()}, {known[row.id].get_lubricant_display()}",
            url=f"{reverse('equipment:circuit_trace', args=[row.id])}?direction={direction}",
            at=row.at,
        )
        for row in rows
    )


def _pieces(rows: Sequence[Reached], direction: Direction) -> tuple[TraceRow, ...]:
    known = Piece.objects.in_bulk([row.id for row in rows])
    return tuple(
        TraceRow(
            name=str(known[row.id]),
            note=str(known[row.id].get_kind_display()),
            url=f"{reverse('equipment:trace', args=[known[row.id].code])}?direction={direction}",
            at=row.at,
        )
        for row in rows
    )
