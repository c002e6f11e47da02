"""Moments, tones and proofs in words, as every part of a record says them."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from django.utils import timezone
from django.utils.dateformat import format as formatted
from django.utils.translation import gettext as _

from shopcool.core.documents import Stamp, Tone
from shopcool.core.records import ChainedRecord

#: What is entered within this time counts as entered at once.
AT_ONCE = timedelta(minutes=5)
SHOWN_OF_HASH = 16


def clock_words(moment: datetime) -> str:
    """Return the time of day at the workshop."""
    return formatted(timezone.localtime(moment), "H:i")


def day_words(day: date) -> str:
    """Return a day, or that of a moment at the workshop, its month in letters: 2 Mar 2026."""
    local = timezone.localtime(day) if isinstance(day, datetime) else day
    return formatted(local, "j M Y")


def moment_words(moment: datetime) -> str:
    """Return day and time of day."""
    return f"{day_words(moment)}, {clock_words(moment)}"


def stamp_of(record: ChainedRecord, occurred_at: datetime) -> Stamp:
    """Return when and by whom, and when it was entered if that was later."""
    late = record.recorded_at - occurred_at > AT_ONCE
    note = _("entered %(moment)s") % {"moment": moment_words(record.recorded_at)} if late else ""
    return Stamp(clock_words(occurred_at), day_words(occurred_at), record.recorded_by_name, note)


def proof_words(record: ChainedRecord, rules_version: str = "") -> str:
    """Return the place of a record in its chain, and the rules that judged it."""
    place = _("Entry %(number)d of its chain, SHA-256 %(hash)s…") % {
        "number": record.sequence,
        "hash": record.hash[:SHOWN_OF_HASH],
    }
    rules = _("rules %(version)s") % {"version": rules_version} if rules_version else ""
    return " · ".join(part for part in (place, rules) if part)


def tone_word(tone: Tone) -> str:
    """Return a tone in a word."""
    return {
        Tone.GOOD: _("In order"),
        Tone.NOTE: _("Note"),
        Tone.WARNING: _("Warning"),
        Tone.REFUSAL: _("Refused"),
        Tone.PLAIN: "",
    }[tone]


def labelled(label: str, text: str) -> str:
    """Return a text behind its label, empty without a text."""
    return _("%(label)s: %(text)s") % {"label": label, "text": text} if text else ""
