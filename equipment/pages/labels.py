"""The page that prints labels: the pieces to tick, narrowed by kind and words."""

from __future__ import annotations

from dataclasses import dataclass
from functools import reduce
from operator import and_
from urllib.parse import urlencode, urlsplit

from django.core.paginator import Page, Paginator
from django.db.models import Count, Q, QuerySet
from django.http import QueryDict
from django.utils.translation import gettext as _

from equipment.choices import PieceKind
from equipment.models import Piece
from equipment.pages.board import KindFilter
from equipment.pages.loops import selection_from
from equipment.selectors import pieces_visible_to
from shopcool.core.actors import Actor

ON_A_PAGE = 60
#: More than a workshop sticks on in a day, and still set in a few seconds.
MOST_LABELS = 400
#: Hosts that no tablet reaches.
_ONLY_HERE = {"localhost", "127.0.0.1", "::1"}


@dataclass(frozen=True)
class LabelsPage:
    """The list as it is narrowed, one sheet of it, and what is ticked."""

    query: str
    kind: str
    kinds: tuple[KindFilter, ...]
    listed: QuerySet[Piece]
    page: Page[Piece]
    ticked: tuple[int, ...]
    base: str

    @property
    def is_out_of_reach(self) -> bool:
        """Whether the codes would lead to an address that only this machine knows."""
        return urlsplit(self.base).hostname in _ONLY_HERE

    def chosen(self, *, everything: bool) -> list[Piece]:
        """Return the pieces to print, one more than may be printed at most."""
        if everything:
            return list(self.listed[: MOST_LABELS + 1])
        return list(self.listed.filter(pk__in=self.ticked)[: MOST_LABELS + 1])


def labels_page(*, actor: Actor, narrowed: QueryDict, sent: QueryDict, base: str) -> LabelsPage:
    """Return the page: ``narrowed`` holds kind, words and sheet, ``sent`` the ticked pieces."""
    query, kind = " ".join(narrowed.get("q", "").split())[:60], narrowed.get("kind", "")
    kind = kind if kind in PieceKind.values else ""
    found = pieces_visible_to(actor)
    if query:
        named = (Q(code__icontains=word) | Q(name__icontains=word) for word in query.split())
        found = found.filter(reduce(and_, named))
    listed = found.filter(kind=kind) if kind else found
    return LabelsPage(
        query=query,
        kind=kind,
        kinds=_kinds(found, kind, query),
        listed=listed,
        page=Paginator(listed, ON_A_PAGE).get_page(narrowed.get("page", "1")),
        ticked=selection_from(sent).piece_ids,
        base=base,
    )


def _kinds(found: QuerySet[Piece], current: str, query: str) -> tuple[KindFilter, ...]:
    counts = dict(found.order_by().values_list("kind").annotate(count=Count("pk")))
    entries = [("", _("All"), sum(counts.values()))]
    entries += [(kind.value, str(kind.label), counts[kind]) for kind in PieceKind if kind in counts]
    return tuple(
        KindFilter(label, f"?{urlencode({'q': query, 'kind': kind})}", kind == current, count)
        for kind, label, count in entries
    )
