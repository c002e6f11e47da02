"""The lives of pieces as told by the log, each read once while their past is judged again."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from equipment.choices import ExposureKind
from equipment.exposure import Condition, ExposureEvent, Residue, fold
from equipment.models import Exposure
from equipment.selectors import EVENT_COLUMNS, event_of


@dataclass(frozen=True)
class Told:
    """An entry as the fold sees it, with its job and purge.

    ``stays`` says that no one can withdraw it: the program wrote it, or its kind can't be withdrawn.
    """

    event: ExposureEvent
    job_number: str
    purge_id: int | None
    stays: bool


class Lives:
    """What the log tells of each piece, read at the first question.

    Only sound while the pieces are locked; whoever writes an entry meanwhile adds it here.
    """

    def __init__(self) -> None:
        self._told: dict[int, list[Told]] = {}

    def of(self, piece_id: int) -> list[Told]:
        """Return everything told of a piece, in the order in which it happened."""
        if piece_id not in self._told:
            rows = Exposure.objects.filter(piece_id=piece_id).select_related("corrects")
            rows = rows.only(*EVENT_COLUMNS, "job_number", "purge_id", "recorded_by_id")
            self._told[piece_id] = sorted(map(_told, rows), key=_order)
        return self._told[piece_id]

    def events(self, piece_id: int) -> list[ExposureEvent]:
        """Return the life of a piece as the fold sees it."""
        return [told.event for told in self.of(piece_id)]

    def add(self, exposure: Exposure) -> None:
        """Take in an entry that was written after its piece was read."""
        told = self._told.get(exposure.piece_id)
        if told is not None:
            told.append(_told(exposure))
            told.sort(key=_order)


def condition_of(told: Iterable[Told]) -> Condition:
    """Return the condition that these entries leave behind."""
    return fold(one.event for one in told)


def holds_for_good(told: Iterable[Told], residue: Residue) -> bool:
    """Whether a piece holds a residue after these entries, and would if all that can be were withdrawn."""
    told = list(told)
    firm = [one for one in told if one.stays]
    return all(
        known.residue.joined(residue) == known.residue for known in (condition_of(told), condition_of(firm))
    )


def _told(row: Exposure) -> Told:
    return Told(
        event=event_of(row, row.corrects.sequence if row.corrects else None),
        job_number=row.job_number,
        purge_id=row.purge_id,
        stays=row.recorded_by_id is None or not ExposureKind(row.kind).can_be_withdrawn,
    )


def _order(told: Told) -> tuple[object, ...]:
    return told.event.occurred_at, told.event.sequence
