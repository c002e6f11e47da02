"""Every decision about a connection, refusals and overrides included, with all reasons and their sources."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from django.utils.translation import gettext as _

from equipment.choices import Verdict
from equipment.marks import mark_of
from equipment.models import Clearance
from equipment.readiness import DocumentFacts, PieceFacts, Severity
from equipment.readiness.requests import request_from_record
from jobs.reports.gathering import Gathered
from jobs.reports.words import day_words, labelled, proof_words, stamp_of, tone_word
from shopcool.core.documents import Entry, Fact, Remark, Section, Tone
from shopcool.vehicles.choices import Refrigerant

_TONES = {
    Verdict.PERMITTED: Tone.GOOD,
    Verdict.REFUSED: Tone.REFUSAL,
    Verdict.OVERRIDDEN: Tone.WARNING,
}
_SEVERITIES = {Severity.REFUSAL: Tone.REFUSAL, Severity.WARNING: Tone.WARNING}


def clearances_section(gathered: Gathered) -> Section:
    """Return every decision in the order in which they were made."""
    text = "" if gathered.clearances else _("No clearance was asked for on this job.")
    return Section(_("Clearances"), text, entries=tuple(_clearance(row) for row in gathered.clearances))


def override_alerts(gathered: Gathered) -> tuple[Entry, ...]:
    """Return the connections made against a refusal: written reason first, then what was refused."""
    return tuple(_alert(row) for row in gathered.clearances if row.verdict == Verdict.OVERRIDDEN)


def reason_remarks(reasons: Iterable[Mapping[str, Any]]) -> tuple[Remark, ...]:
    """Return stored reasons with what clears them and where they come from."""
    return tuple(_remark(reason) for reason in reasons)


def refused_sentences(reasons: Iterable[Mapping[str, Any]]) -> tuple[Remark, ...]:
    """Return only what was refused, without its details."""
    found = (reason["sentence"] for reason in reasons if reason["severity"] == Severity.REFUSAL)
    return tuple(Remark(Tone.REFUSAL, tone_word(Tone.REFUSAL), sentence) for sentence in found)


def _alert(clearance: Clearance) -> Entry:
    return Entry(
        stamp=stamp_of(clearance, clearance.occurred_at),
        title=_("Connected against a refusal, on the owner's responsibility"),
        tone=Tone.WARNING,
        text=_("Reason: “%(reason)s”") % {"reason": clearance.override_reason},
        remarks=refused_sentences(clearance.reasons),
    )


def _clearance(clearance: Clearance) -> Entry:
    verdict = Verdict(clearance.verdict)
    request = request_from_record(clearance.request)
    reason = labelled(_("The owner's reason"), clearance.override_reason)
    return Entry(
        stamp=stamp_of(clearance, clearance.occurred_at),
        title=str(verdict.label),
        tone=_TONES[verdict],
        text=reason,
        facts=tuple(_piece(piece) for piece in request.pieces),
        remarks=reason_remarks(clearance.reasons),
        proof=proof_words(clearance, clearance.rules_version),
    )


def _piece(piece: PieceFacts) -> Fact:
    mark = mark_of(
        piece.residue,
        in_service=piece.in_service,
        dedicated_to=piece.dedicated_to,
        labelled_oil=piece.lubricant,
    )
    return Fact(f"{piece.code} {piece.name}", mark.word, "; ".join(_document(row) for row in piece.documents))


def _document(document: DocumentFacts) -> str:
    parts = [f"{document.kind.label} {document.number}"]
    parts += [str(Refrigerant(gas).label) for gas in sorted(document.refrigerants)]
    if document.covers_high_voltage:
        parts.append(_("high voltage"))
    if document.valid_until:
        parts.append(_("until %(day)s") % {"day": day_words(document.valid_until)})
    return ", ".join(parts)


def _remark(reason: Mapping[str, Any]) -> Remark:
    tone = _SEVERITIES[Severity(reason["severity"])]
    details = (labelled(_("What clears it"), reason["fix"]), labelled(_("Source"), reason["source"]))
    return Remark(tone, tone_word(tone), reason["sentence"], tuple(detail for detail in details if detail))
