"""The registered instruments as the steps of a job see them: read when a step first asks for them."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from datetime import date
from functools import cached_property

from django.db.models import Q
from django.utils.translation import gettext as _

from equipment.choices import INSTRUMENTS, PieceKind
from equipment.instruments import objections
from equipment.models import Piece
from equipment.readiness import PieceFacts
from equipment.selectors import instrument_facts
from jobs.steps.instruments import InstrumentChoice


class RegisteredInstruments:
    """Every instrument and pair of gloves in use, with what stands against it on a day.

    ``named`` are those that a record names which is about to be corrected: they were fit when it was made.
    """

    def __init__(self, day: date, *, named: Collection[int] = ()) -> None:
        self._day = day
        self._named = named

    def __iter__(self) -> Iterator[InstrumentChoice]:
        """Return the instruments by code."""
        return iter(self._found)

    @cached_property
    def _found(self) -> list[InstrumentChoice]:
        in_use = Q(retired_at__isnull=True) | Q(pk__in=self._named)
        rows = Piece.objects.filter(in_use, kind__in=INSTRUMENTS).select_related("state")
        pieces = list(rows.order_by("code"))
        if not pieces:
            return []
        facts = instrument_facts(pieces)
        return [self._choice(piece, known) for piece, known in zip(pieces, facts, strict=True)]

    def _choice(self, piece: Piece, facts: PieceFacts) -> InstrumentChoice:
        days = [plan.due_on for plan in facts.maintenance if plan.due_on is not None]
        return InstrumentChoice(
            id=piece.pk,
            code=piece.code,
            name=piece.name,
            kind=facts.kind,
            why_not=self._why_not(piece, facts, has_test=bool(days)),
            glove_class=piece.glove_class,
            good_until=min(days) if days and facts.kind is PieceKind.GLOVES else None,
        )

    def _why_not(self, piece: Piece, facts: PieceFacts, *, has_test: bool) -> str:
        """Return why an instrument must not be used, and what to do about it."""
        if piece.pk in self._named:
            return ""
        against = objections(facts, self._day)
        if against:
            return f"{against[0].sentence} {against[0].fix}"
        if facts.kind is not PieceKind.GLOVES:
            return ""
        named = {"gloves": piece.code}
        if not has_test:
            return _("No test of %(gloves)s is on record. Take others, or record their test.") % named
        if piece.issued_on is None:
            return _("%(gloves)s lie in store. Record on their page that they are given out.") % named
        return ""
