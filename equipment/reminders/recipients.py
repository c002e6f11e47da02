"""Who is told about a due thing, and from which stage on. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from equipment.due import DueItem
from equipment.reminders.stages import Stage


@dataclass(frozen=True)
class Crew:
    """The people who can be told: every active person, the active owners, and who keeps the equipment."""

    active: frozenset[int]
    owners: frozenset[int]
    keeper: int | None = None


def first_told(item: DueItem, crew: Crew) -> frozenset[int]:
    """Return whose business a due thing is.

    A competence is its holder's; a piece is the keeper's, or every owner's where none is chosen.
    """
    if item.user_id is not None:
        return frozenset({item.user_id}) & crew.active
    keeper = frozenset() if crew.keeper is None else frozenset({crew.keeper}) & crew.active
    return keeper or crew.owners


def recipients(item: DueItem, stage: Stage, crew: Crew) -> frozenset[int]:
    """Return who is told at a stage; what is overdue goes to the owners as well."""
    first = first_told(item, crew)
    return first | crew.owners if stage is Stage.OVERDUE else first
