"""The page on which an owner takes the responsibility: what is refused and why, and what it may cost."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from jobs.choices import StepKind
from jobs.pages.clearance import DecisionShown, clearance_panel
from jobs.pages.job import Surroundings, surroundings
from jobs.pages.ways import step_url
from jobs.situation import Situation
from shopcool.core.actors import Actor


@dataclass(frozen=True)
class OverridePage:
    """The refusal that would be set aside, the pieces concerned, and the way back."""

    around: Surroundings
    decision: DecisionShown
    piece_ids: tuple[int, ...]
    is_refused: bool
    back: str


def override_page(
    *, actor: Actor, situation: Situation, chosen: Collection[int], now: datetime
) -> OverridePage:
    """Return everything the page of an override shows."""
    panel = clearance_panel(actor=actor, situation=situation, chosen=chosen, now=now)
    ticked = tuple(tile.id for group in panel.groups for tile in group.tiles if tile.chosen)
    return OverridePage(
        around=surroundings(actor=actor, situation=situation),
        decision=panel.decision,
        piece_ids=ticked,
        is_refused=bool(ticked) and not panel.decision.permitted,
        back=step_url(situation.job.number, StepKind.CONNECTION),
    )
