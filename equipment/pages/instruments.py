"""Instruments and protection on the board: in service, out, or due, with every reason."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.urls import reverse
from django.utils.translation import gettext as _

from equipment.instruments import reasons
from equipment.pages.cards import ShownReason, shown_reasons, tone_of
from equipment.pages.words import due_words
from equipment.readiness import Decision, PieceFacts


@dataclass(frozen=True)
class InstrumentRow:
    """One instrument with its state in a word, what stands against it, and what runs out next."""

    name: str
    url: str
    kind: str
    tone: str
    word: str
    reasons: tuple[ShownReason, ...]
    due: str

    @property
    def sentence(self) -> str:
        """What stands against its use, the worst first, in one sentence."""
        worst = sorted(self.reasons, key=lambda reason: reason.tone != "refusal")
        return worst[0].sentence if worst and self.tone != "good" else _("Nothing stands against its use.")


def instrument_row(facts: PieceFacts, today: date) -> InstrumentRow:
    """Return the state of one instrument or piece of protection."""
    decision = Decision(reasons(facts, today))
    due, due_tone = due_words(facts, today)
    tone = tone_of(decision)
    if tone == "good" and due_tone:
        tone = "warning"
    words = {"refusal": _("Out of use"), "warning": _("Due"), "good": _("In service")}
    shown = shown_reasons(decision)
    return InstrumentRow(
        name=f"{facts.code} {facts.name}",
        url=reverse("equipment:piece", args=[facts.code]),
        kind=str(facts.kind.label),
        tone=tone,
        word=words[tone],
        reasons=shown or _only(due, due_tone),
        due=due,
    )


def instrument_rows(pieces: Sequence[PieceFacts], today: date) -> tuple[InstrumentRow, ...]:
    """Return instruments by state, the worst first, then by code."""
    order = ("refusal", "warning", "good")
    rows = (instrument_row(facts, today) for facts in pieces)
    return tuple(sorted(rows, key=lambda row: (order.index(row.tone), row.name)))


def _only(sentence: str, tone: str) -> tuple[ShownReason, ...]:
    return (ShownReason(sentence, "", "", "", tone),) if sentence else ()
