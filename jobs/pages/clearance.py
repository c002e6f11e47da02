"""The clearance panel: what to choose from, the decision in a sentence, every reason with its way out."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from urllib.parse import urlencode

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from equipment.choices import PieceKind
from equipment.policies import may_override
from equipment.readiness import Decision, Reason, Severity
from jobs.carrying import Carrying, carrying_of
from jobs.models import Job
from jobs.offered import CLEARED_BY_PURGE, Fit, Offered, pieces_offered, usual_set
from jobs.pages.carrying import carry_words
from jobs.pages.pieces import Tile, name_of, piece_mark, piece_url, tile_of
from jobs.pages.proofs import proofs_of
from jobs.pages.ways import Way, job_url, purge_url, visit_url
from jobs.services.connecting import job_clearance
from jobs.situation import Situation
from shopcool.core.actors import Actor

#: Refusals about a machine's proofs, which stand on its page.
_DOCUMENTS = ("certificate", "scale_calibration", "gauge_calibration", "machine_injects", "out_of_service")


@dataclass(frozen=True)
class ReasonShown:
    """One reason beside its fix and source."""

    tone: str
    sentence: str
    fix: str
    source: str
    fix_url: str = ""


@dataclass(frozen=True)
class Row:
    """What is said about one piece, or about the visit."""

    name: str
    tone: str
    reasons: tuple[ReasonShown, ...]
    url: str = ""
    mark: str = ""
    oil: str = ""
    mark_word: str = ""
    word: str = ""


@dataclass(frozen=True)
class TileGroup:
    """Tiles that stand to the car in the same way; a folded group opens on tap."""

    label: str
    tiles: tuple[Tile, ...]
    folded: bool


@dataclass(frozen=True)
class ClearancePanel:
    """Everything the panel shows, and where it sends the choice."""

    url: str
    groups: tuple[TileGroup, ...]
    decision: DecisionShown


@dataclass(frozen=True)
class DecisionShown:
    """The decision on the chosen pieces: one sentence, then a row for each."""

    tone: str
    sentence: str
    rows: tuple[Row, ...]
    ways: tuple[Way, ...]
    connect: str
    override_url: str
    word: str

    @property
    def permitted(self) -> bool:
        """Whether the chosen pieces may be connected."""
        return bool(self.connect)


def clearance_panel(
    *, actor: Actor, situation: Situation, chosen: Collection[int] | None, now: datetime
) -> ClearancePanel:
    """Return the panel of a job; without a choice, with the pieces that were last on a car of this kind."""
    job = situation.job
    live = [row.piece_id for row in situation.connections if row.disconnected_at is None]
    offered = pieces_offered(
        actor=actor,
        job=job,
        on_car=live,
        identification=situation.case.identification,
        today=situation.context.today,
    )
    if chosen is None:
        chosen = () if live else usual_set(job, offered)
    ticked = [one for one in offered if one.piece.pk in chosen]
    decision = Decision()
    if ticked:
        decision = job_clearance(actor=actor, job=job, piece_ids=[one.piece.pk for one in ticked], now=now)
    shown = decision_shown(decision, ticked, job, may_override=may_override(actor))
    carrying = carrying_of(job.circuit, [one.piece.pk for one in ticked])
    if carrying is not None:
        shown = replace(shown, rows=(*shown.rows, _carry_row(carrying)))
    url = reverse("jobs:clearance", args=[job.number])
    return ClearancePanel(url, groups_of(offered, [one.piece.pk for one in ticked]), shown)


def _carry_row(carrying: Carrying) -> Row:
    """Return the carry-over estimate as one more row; the decision itself stays what it is."""
    said = carry_words(carrying)
    reasons = (
        ReasonShown(said.tone, said.sentence, said.advice, ""),
        ReasonShown(said.tone, said.assumptions, "", said.source),
    )
    return Row(_("Oil carried over"), said.tone, reasons, word=_("Estimate"))


def groups_of(offered: Sequence[Offered], chosen: Collection[int]) -> tuple[TileGroup, ...]:
    """Return the tiles by how they stand to the car; what can't go on is folded away unless chosen."""
    words = {
        Fit.NOW: _("Fit this car now"),
        Fit.AFTER_PURGE: _("After a line purge"),
        Fit.NOT: _("Not for this car"),
    }
    groups = []
    for fit, label in words.items():
        tiles = tuple(tile_of(one, one.piece.pk in chosen) for one in offered if one.fit is fit)
        folded = fit is Fit.NOT and not any(tile.chosen for tile in tiles)
        if tiles:
            groups.append(TileGroup(label, tiles, folded))
    return tuple(groups)


def decision_shown(
    decision: Decision, chosen: Sequence[Offered], job: Job, *, may_override: bool
) -> DecisionShown:
    """Return the decision on the chosen pieces as the panel shows it."""
    if not chosen:
        sentence = _("Choose the pieces that will touch this circuit.")
        return DecisionShown("unknown", sentence, (), (), "", "", _("Nothing chosen"))
    machine_id = _purging_machine(chosen)
    rows = [_row(one, decision, job, machine_id) for one in chosen]
    visit = [reason for reason in decision.reasons if reason.piece_id is None]
    if visit:
        shown = tuple(_reason(reason, visit_url(reason.code, job)) for reason in visit)
        rows.insert(0, Row(_("This visit"), _tone(visit), shown))
    override_url = ""
    if may_override and not decision.permitted:
        query = urlencode([("pieces", one.piece.pk) for one in chosen])
        override_url = f"{reverse('jobs:override', args=[job.number])}?{query}"
    return DecisionShown(
        word=_word(decision),
        tone=_tone(decision.reasons),
        sentence=_sentence(decision, chosen),
        rows=tuple(rows),
        ways=_ways(chosen, decision, job, machine_id),
        connect=_connect_words(len(chosen)) if decision.permitted else "",
        override_url=override_url,
    )


def _word(decision: Decision) -> str:
    if not decision.permitted:
        return _("Refused")
    return _("Permitted, with remarks") if decision.warnings else _("Permitted")


def _connect_words(number: int) -> str:
    return ngettext("Connect this piece", "Connect these %(number)d", number) % {"number": number}


def _sentence(decision: Decision, chosen: Sequence[Offered]) -> str:
    codes = [one.facts.code for one in chosen]
    if decision.permitted:
        listed = {"pieces": _listed(codes)}
        if decision.warnings:
            return _("%(pieces)s may go on this car; read the remarks first.") % listed
        return _("%(pieces)s may go on this car.") % listed
    refused = [one.facts.code for one in chosen if _refuses(decision.of_piece(one.piece.pk))]
    if refused:
        return _("%(pieces)s must not go on this car.") % {"pieces": _listed(refused)}
    first = next(reason for reason in decision.refusals if reason.piece_id is None)
    return _("Nothing may go on this car yet. %(reason)s") % {"reason": first.sentence}


def _listed(codes: Sequence[str]) -> str:
    if len(codes) == 1:
        return codes[0]
    return _("%(first)s and %(last)s") % {"first": ", ".join(codes[:-1]), "last": codes[-1]}


def _refuses(reasons: Sequence[Reason]) -> bool:
    return any(reason.severity is Severity.REFUSAL for reason in reasons)


def _tone(reasons: Sequence[Reason]) -> str:
    if _refuses(reasons):
        return "refusal"
    return "warning" if reasons else "good"


def _row(one: Offered, decision: Decision, job: Job, machine_id: int | None) -> Row:
    reasons = decision.of_piece(one.piece.pk)
    mark = piece_mark(one.facts)
    return Row(
        name=name_of(one.facts),
        tone=_tone(reasons),
        reasons=(
            *(_reason(reason, _fix_url(reason, one, job, machine_id)) for reason in reasons),
            *_proofs(one, reasons, job),
        ),
        url=piece_url(one.facts.code),
        mark=mark.kind,
        oil=mark.oil,
        mark_word=mark.word,
    )


def _proofs(one: Offered, reasons: Sequence[Reason], job: Job) -> list[ReasonShown]:
    """Return what proves a piece, unless its proofs are what is refused."""
    if any(reason.code.startswith("certificate") for reason in reasons):
        return []
    return [ReasonShown("good", sentence, "", "") for sentence in proofs_of(one.facts, job.circuit)]


def _reason(reason: Reason, url: str) -> ReasonShown:
    tone = reason.severity.value.lower()
    return ReasonShown(tone, reason.sentence, reason.fix, reason.source, url)


def _fix_url(reason: Reason, one: Offered, job: Job, machine_id: int | None) -> str:
    if reason.code in CLEARED_BY_PURGE and one.facts.kind.can_be_purged:
        return purge_url(job.number, _without(machine_id, [one.piece.pk]), machine_id)
    if reason.code == "busy":
        return job_url(one.facts.busy_on)
    if reason.code.startswith(_DOCUMENTS):
        return piece_url(one.facts.code)
    return ""


def _purging_machine(chosen: Sequence[Offered]) -> int | None:
    """Return the machine that a purge would run through: the chosen one, if it is the only one."""
    machines = [one.piece.pk for one in chosen if one.facts.kind is PieceKind.MACHINE]
    return machines[0] if len(machines) == 1 else None


def _ways(chosen: Sequence[Offered], decision: Decision, job: Job, machine_id: int | None) -> tuple[Way, ...]:
    """Return one tap that purges everything of the choice that a purge would clear."""
    due = [
        one
        for one in chosen
        if one.facts.kind.can_be_purged
        and not one.facts.busy_on
        and any(
            reason.code in CLEARED_BY_PURGE and reason.severity is Severity.REFUSAL
            for reason in decision.of_piece(one.piece.pk)
        )
    ]
    if not due:
        return ()
    label = _("Purge %(pieces)s") % {"pieces": _listed([one.facts.code for one in due])}
    pieces = _without(machine_id, [one.piece.pk for one in due])
    return (Way(label, purge_url(job.number, pieces, machine_id)),)


def _without(machine_id: int | None, piece_ids: Sequence[int]) -> list[int]:
    return [piece_id for piece_id in piece_ids if piece_id != machine_id]
