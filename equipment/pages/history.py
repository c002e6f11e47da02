"""The page of one piece's whole life, and the log of all pieces."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.utils.http import urlencode

from equipment.forms.history import ScopeForm
from equipment.history import Cursor, HistoryEntry, Scope, sheet
from equipment.models import Exposure, Piece
from equipment.pages.life import life_rows
from equipment.pages.piece import condition_words, piece_card, piece_identity
from equipment.readiness import PieceFacts
from equipment.selectors import piece_facts, today_at
from shopcool.core.components.drawings import Row
from shopcool.shop.models import Shop
from shopcool.shop.units import Units

#: What the drawing shows when no period is chosen.
DRAWN = timedelta(days=365)


@dataclass(frozen=True)
class HistorySheet:
    """A sheet of entries with the way to older ones and back to the newest, and where files are taken."""

    entries: tuple[HistoryEntry, ...]
    older_url: str
    newest_url: str
    query: str


@dataclass(frozen=True)
class PieceHistory:
    """Everything the page of a piece's life shows; ``looked_up`` answers for a digest from paper."""

    piece: Piece
    name: str
    sheet: HistorySheet
    rows: list[Row]
    drawn_from: datetime
    drawn_to: datetime
    digest: str = ""
    found: Exposure | None = None


def history_sheet(scope: Scope, query: Mapping[str, str]) -> HistorySheet:
    """Return the sheet that the address asks for; ``query`` is what it says beside its place."""
    after = Cursor.read(query.get("before", ""))
    found = sheet(scope, after=after)
    kept = {name: value for name, value in query.items() if value and name not in {"before", "digest"}}
    older = f"?{urlencode({**kept, 'before': str(found.next)})}" if found.next else ""
    newest = f"?{urlencode(kept)}" if after else ""
    return HistorySheet(found.entries, older, newest, urlencode(kept))


def piece_history_page(
    *, piece: Piece, shop: Shop, form: ScopeForm, query: Mapping[str, str], now: datetime
) -> PieceHistory:
    """Return the life of a piece with the drawing of the period, a year where none is chosen."""
    scope = form.scope(shop, piece.pk)
    end = min(scope.until or now, now)
    start = scope.since if scope.since and scope.since < end else end - DRAWN
    digest = query.get("digest", "").strip().lower()[:64]
    return PieceHistory(
        piece=piece,
        name=str(piece),
        sheet=history_sheet(scope, query),
        rows=life_rows(piece.pk, start, end),
        drawn_from=start,
        drawn_to=end,
        digest=digest,
        found=Exposure.objects.filter(piece=piece, hash=digest).first() if len(digest) == 64 else None,
    )


def piece_words(piece: Piece, shop: Shop, units: Units, now: datetime) -> tuple[list[tuple[str, str]], str]:
    """Return what a piece is and what is known about it now, for its printed history."""
    facts: PieceFacts = piece_facts([piece])[0]
    card = piece_card(facts, now, today_at(shop, now))
    return piece_identity(piece, facts, units), condition_words(piece, facts, card)[0]
