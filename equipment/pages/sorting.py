"""Where each piece stands on the board, asked once for all pieces that the rules can't tell apart.

A workshop of ten thousand pieces has a few dozen different ones as far as the rules go: the same kind, label,
residue and documents. Only names and reasons differ, and those are made for the pieces that are shown.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Generic, TypeVar

from equipment.readiness import (
    CircuitFacts,
    DocumentFacts,
    MaintenanceFacts,
    PieceFacts,
    piece_decision,
)
from equipment.uses import Use, prospect, purge_clears_for

T = TypeVar("T")


def profile_of(piece: PieceFacts, today: date) -> PieceFacts:
    """Return a piece without its names, numbers and exact dates, none of which decides anything today."""
    return replace(
        piece,
        id=0,
        code="",
        name="",
        out_of_service_reason="",
        busy_on="elsewhere" if piece.busy_on else "",
        documents=tuple(dict.fromkeys(_proof(document, today) for document in piece.documents)),
        maintenance=tuple(dict.fromkeys(_speaking(piece.maintenance, today))),
    )


def _speaking(plans: Iterable[MaintenanceFacts], today: date) -> Iterator[MaintenanceFacts]:
    """Yield the plans that say anything today, alike when they say the same."""
    for plan in plans:
        if plan.failed_on is not None:
            yield MaintenanceFacts("", "", not_ready=True, failed_on=date.min)
        elif plan.is_overdue(today):
            yield MaintenanceFacts("", "", not_ready=plan.not_ready, is_reached=True)


def _proof(document: DocumentFacts, today: date) -> DocumentFacts:
    return replace(document, number="", valid_until=None if document.in_date(today) else date.min)


@dataclass
class Answers(Generic[T]):
    """The answers to one question about pieces, remembered by profile."""

    ask: Callable[[PieceFacts], T]
    today: date
    known: dict[PieceFacts, T] = field(default_factory=dict)

    def about(self, piece: PieceFacts) -> T:
        """Return the answer for a piece, asked anew only for a profile that was not met before."""
        profile = profile_of(piece, self.today)
        if profile not in self.known:
            self.known[profile] = self.ask(profile)
        return self.known[profile]


def sorted_by_use(pieces: Sequence[PieceFacts], today: date) -> dict[str, list[PieceFacts]]:
    """Return the pieces by what they can be used for today, in the order of the board."""
    answers = Answers(lambda piece: prospect(piece, today).use.value, today)
    return _sorted(pieces, answers, [use.value for use in Use])


def sorted_for_circuit(
    pieces: Sequence[PieceFacts], circuit: CircuitFacts, today: date, *, label_is_known: bool
) -> dict[str, list[PieceFacts]]:
    """Return the pieces that go onto vehicles by what the clearance rules say about one circuit."""

    def ask(piece: PieceFacts) -> str:
        if piece_decision(circuit, piece, today).permitted:
            return "good" if label_is_known else "unknown"
        return "purge" if purge_clears_for(circuit, piece, today) else "refusal"

    on_vehicles = [piece for piece in pieces if piece.kind.connects_to_vehicles]
    return _sorted(on_vehicles, Answers(ask, today), ["good", "unknown", "purge", "refusal"])


def _sorted(
    pieces: Sequence[PieceFacts], answers: Answers[str], order: Sequence[str]
) -> dict[str, list[PieceFacts]]:
    found: dict[str, list[PieceFacts]] = {answer: [] for answer in order}
    for piece in pieces:
        found[answers.about(piece)].append(piece)
    return found
