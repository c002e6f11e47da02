"""The history of one piece on paper, with the digest of its chain so that anybody can have it verified."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from django.utils import timezone
from django.utils.dateformat import format as formatted
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from equipment.history.entries import HistoryEntry, Scope
from equipment.history.reading import sheet
from equipment.models import Exposure, Piece
from equipment.pages.words import day_words
from shopcool.core.documents import Document, Fact, Group, Head, Remark, Section, Table, Tone
from shopcool.core.errors import DomainError
from shopcool.core.records import GENESIS, StreamHead, chain_breaks
from shopcool.shop.models import Jurisdiction, Shop

#: More would make a document that nobody reads, and somebody would wait for it longer than two seconds.
MOST_ENTRIES = 1000


class TooLong(DomainError):
    """The period holds more than one document can tell."""

    code = "too_long"


@dataclass(frozen=True)
class Proof:
    """Where the exposure chain of a piece ends, and whether it holds from its first entry on."""

    length: int
    head: str
    finding: str


def proof_of(piece: Piece) -> Proof:
    """Recompute the exposure chain of a piece."""
    stream = f"exposure:piece:{piece.pk}"
    head = StreamHead.objects.filter(stream=stream).first() or StreamHead(stream=stream)
    broken = next(chain_breaks(Exposure, stream), None)
    return Proof(head.sequence, head.hash or GENESIS, str(broken) if broken else "")


def history_document(
    *, piece: Piece, shop: Shop, scope: Scope, facts: Sequence[tuple[str, str]], condition: str, now: datetime
) -> Document:
    """Return the history of a piece, newest first; raises TooLong when it holds more than MOST_ENTRIES.

    ``facts`` say what the piece is, ``condition`` what is known about it now.
    """
    found = sheet(scope, size=MOST_ENTRIES)
    if found.next is not None:
        sentence = _("This period holds more than %(most)d entries. Choose a shorter one, or take the file.")
        raise TooLong(sentence % {"most": MOST_ENTRIES}, field="first")
    with timezone.override(ZoneInfo(shop.time_zone)):
        return Document(
            language=(get_language() or "en").split("-")[0],
            paper="us-letter" if shop.jurisdiction == Jurisdiction.US else "a4",
            title=_("History of %(piece)s") % {"piece": piece},
            head=_head(piece, shop, condition, now),
            alerts=(),
            sections=(_identity(facts), _entries(found.entries, scope), _proof(proof_of(piece))),
            page_of=_("Page {page} of {pages}"),
        )


def _head(piece: Piece, shop: Shop, condition: str, now: datetime) -> Head:
    return Head(
        workshop=shop.name,
        address=tuple(line.strip() for line in shop.address.splitlines() if line.strip()),
        kind=_("History of a piece of equipment"),
        number=piece.code,
        name=piece.name,
        name_note=str(piece.get_kind_display()),
        state=condition,
        running=f"{piece.code} · {piece.name}",
        made=_("Made %(moment)s") % {"moment": _moment(now)},
    )


def _identity(facts: Sequence[tuple[str, str]]) -> Section:
    group = Group("", tuple(Fact(label, value) for label, value in facts), wide=True)
    return Section(_("What it is"), groups=(group,))


def _entries(entries: Sequence[HistoryEntry], scope: Scope) -> Section:
    text = _period_words(scope)
    if not entries:
        return Section(_("Everything that happened"), f"{text} {_('Nothing is on record.')}")
    columns = (_("When"), _("What happened"), _("Who"), _("Proof"))
    rows = tuple(_row(entry) for entry in entries)
    return Section(_("Everything that happened"), text, tables=(Table(columns, (4, 10, 4, 5), rows),))


def _row(entry: HistoryEntry) -> tuple[str, ...]:
    job = _("job %(number)s") % {"number": entry.job_number} if entry.job_number else ""
    late = entry.recorded_at and (entry.recorded_at - entry.at).total_seconds() > 300
    recorded = _("entered %(moment)s") % {"moment": _moment(entry.recorded_at)} if late else ""  # type: ignore[arg-type]
    place = f"{entry.stream} #{entry.sequence}\n{entry.hash[:16]}…" if entry.hash else ""
    return (
        "\n".join(part for part in (_moment(entry.at), recorded) if part),
        "\n".join(part for part in (entry.title, entry.text) if part),
        "\n".join(part for part in (entry.who, job) if part),
        place,
    )


def _proof(proof: Proof) -> Section:
    sentences = [
        _("The exposure chain of this piece has %(length)d entries.") % {"length": proof.length},
        _("Its last digest (SHA-256) is %(head)s.") % {"head": proof.head},
        _("The workshop can look this digest up on the page of the history, years later."),
    ]
    holds = Remark(Tone.GOOD, _("Holds"), _("Every entry follows its predecessor, and none was changed."))
    broken = Remark(Tone.REFUSAL, _("Broken"), proof.finding)
    remark = broken if proof.finding else holds
    return Section(_("How to verify this"), " ".join(sentences), remarks=(remark,))


def _period_words(scope: Scope) -> str:
    topics = ", ".join(str(topic.label) for topic in sorted(scope.topics))
    since = _("from %(day)s") % {"day": _day(scope.since)} if scope.since else ""
    until = _("before %(day)s") % {"day": _day(scope.until)} if scope.until else ""
    words = " ".join(part for part in (since, until) if part) or _("from the first entry on")
    return _("Newest first, %(period)s.") % {"period": ", ".join(part for part in (topics, words) if part)}


def _day(moment: datetime) -> str:
    return day_words(timezone.localtime(moment).date())


def _moment(moment: datetime) -> str:
    local = timezone.localtime(moment)
    return f"{day_words(local.date())}, {formatted(local, 'H:i')}"
