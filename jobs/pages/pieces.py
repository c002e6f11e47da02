"""Pieces as the pages show them: mark, words, place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.urls import reverse
from django.utils.translation import gettext as _

from equipment.choices import PieceKind
from equipment.marks import Mark, mark_of
from equipment.models import Connection, Piece
from equipment.oil.words import oil_words
from equipment.readiness import PieceFacts
from jobs.offered import Fit, Offered
from jobs.pages.ways import job_url
from jobs.situation import Situation
from shopcool.vehicles.choices import Lubricant


@dataclass(frozen=True)
class Tile:
    """A piece to tick."""

    id: int
    name: str
    kind: str
    mark: Mark
    fit: Fit
    chosen: bool
    note: str = ""
    holder_url: str = ""


@dataclass(frozen=True)
class OnCar:
    """A piece that is on this car now."""

    id: int
    name: str
    kind: str
    mark: Mark
    url: str
    since: datetime


@dataclass(frozen=True)
class DuePiece:
    """A piece that still needs a line purge."""

    id: int
    code: str
    name: str
    mark: Mark
    is_machine: bool


def piece_url(code: str) -> str:
    """Return the page of a piece."""
    return reverse("equipment:piece", args=[code])


def piece_mark(piece: PieceFacts) -> Mark:
    """Return the mark of a piece as it is now."""
    return mark_of(
        piece.residue,
        in_service=piece.in_service,
        dedicated_to=piece.dedicated_to,
        labelled_oil=piece.lubricant,
    )


def name_of(piece: PieceFacts) -> str:
    """Return code and name of a piece."""
    return f"{piece.code} {piece.name}"


def tile_of(offered: Offered, chosen: bool) -> Tile:
    """Return a piece as a tile of the clearance panel."""
    facts = offered.facts
    return Tile(
        id=facts.id,
        name=name_of(facts),
        kind=_kind_words(facts.kind, facts.lubricant, facts.lubricant_grade),
        mark=piece_mark(facts),
        fit=offered.fit,
        chosen=chosen,
        note=_("on job %(job)s") % {"job": facts.busy_on} if facts.busy_on else "",
        holder_url=job_url(facts.busy_on) if facts.busy_on else "",
    )


def on_car(connections: Sequence[Connection]) -> list[OnCar]:
    """Return what hangs on the car now; the pieces should be loaded with their states."""
    return [
        OnCar(
            id=row.piece_id,
            name=str(row.piece),
            kind=_kind_words(row.piece.kind, row.piece.lubricant, row.piece.lubricant_grade),
            mark=stored_mark(row.piece),
            url=piece_url(row.piece.code),
            since=row.connected_at,
        )
        for row in connections
        if row.disconnected_at is None
    ]


def due_pieces(situation: Situation) -> list[DuePiece]:
    """Return the pieces that need a line purge before the job can be closed."""
    return [
        DuePiece(
            id=piece.pk,
            code=piece.code,
            name=str(piece),
            mark=stored_mark(piece),
            is_machine=piece.kind == PieceKind.MACHINE,
        )
        for piece in situation.purges_due
    ]


def stored_mark(piece: Piece) -> Mark:
    """Return the mark of a piece from its row of state."""
    condition = piece.state.condition()
    return mark_of(
        condition.residue,
        in_service=condition.in_service,
        dedicated_to=piece.dedicated_to,
        labelled_oil=piece.lubricant,
    )


def _kind_words(kind: str, lubricant: str, grade: str) -> str:
    words = [str(PieceKind(kind).label)]
    if lubricant:
        words.append(oil_words(Lubricant(lubricant), grade))
    return " · ".join(words)
