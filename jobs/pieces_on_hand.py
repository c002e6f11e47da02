"""The pieces that the steps of a job may name: what hung on its vehicle, and the machines of the workshop."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import cached_property

from equipment.choices import PieceKind
from equipment.models import Connection, Piece
from equipment.selectors import hose_measures, weighing
from jobs.steps.context import PieceChoice


class Machines:
    """The machines in use: read when a step first asks for them, once for however many jobs."""

    def __iter__(self) -> Iterator[Piece]:
        return iter(self._rows)

    @cached_property
    def _rows(self) -> list[Piece]:
        in_use = Piece.objects.filter(kind=PieceKind.MACHINE, retired_at__isnull=True)
        return list(in_use.select_related("allows_for"))


class PiecesOnHand:
    """The pieces beside one job, by their codes. ``aboard`` are those of its connections that are on now."""

    def __init__(
        self, connections: Sequence[Connection], aboard: Sequence[Connection], machines: Iterable[Piece]
    ) -> None:
        self._on_this_job = {row.piece_id: row.piece for row in connections}
        self._live = {row.piece_id for row in aboard}
        self._machines = machines

    def __iter__(self) -> Iterator[PieceChoice]:
        return iter(self._choices)

    @cached_property
    def _choices(self) -> tuple[PieceChoice, ...]:
        # Last, since they come with the hoses that their scales allow for.
        found = self._on_this_job | {piece.pk: piece for piece in self._machines}
        return tuple(self._choice(piece) for piece in sorted(found.values(), key=lambda piece: piece.code))

    def _choice(self, piece: Piece) -> PieceChoice:
        return PieceChoice(
            id=piece.pk,
            code=piece.code,
            name=piece.name,
            kind=PieceKind(piece.kind),
            connected=piece.pk in self._live,
            cleared=piece.pk in self._on_this_job,
            is_marked_for_contaminated=piece.is_marked_for_contaminated,
            lubricant=piece.lubricant,
            lubricant_grade=piece.lubricant_grade,
            hoses=hose_measures(piece),
            weighing=weighing(piece),
        )
