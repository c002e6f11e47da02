"""What is known about a thing: marks, badges, verdicts, reasons, cautions, pieces."""

from __future__ import annotations

from collections.abc import Iterable

from django.template import Library
from django.template.loader import render_to_string
from django.utils.safestring import SafeString

from shopcool.core.components.looks import CAUTIONS, HAZARDS, MARKS, VERDICTS, drawing, pick

register = Library()

SIZES = frozenset({"", "medium", "large"})
BADGES = frozenset({"", "accent", "warning", "refusal"})


def mark_word(kind: str, oil: str) -> str:
    """Return the usual word of a mark; residue and dedication name their oil."""
    return f"{MARKS[kind]} {oil}".strip() if kind in {"residue", "dedicated"} else str(MARKS[kind])


@register.simple_tag
def shape(kind: str) -> SafeString:
    """Draw a bare shape beside a word that the page writes itself."""
    return drawing("shapes", kind)


@register.inclusion_tag("components/mark.html")
def mark(kind: str, word: str = "", oil: str = "", size: str = "") -> dict[str, object]:
    """Show a residue mark and its word; ``oil`` is the class, or several joined by a comma."""
    kind = pick(MARKS, kind, "mark")
    if size not in SIZES:
        raise ValueError(f"There is no size {size!r}; known are medium and large.")
    word = word or mark_word(kind, oil)
    short = oil.upper() if size == "large" and len(oil) <= 4 else ""
    return {"kind": kind, "word": word, "size": size, "drawing": drawing("marks", kind, short=short)}


@register.inclusion_tag("components/badge.html")
def badge(word: str, tone: str = "", shape: str = "") -> dict[str, object]:
    """Show a short word in a frame; a tone of warning or refusal brings its shape."""
    if tone not in BADGES:
        raise ValueError(f"There is no badge {tone!r}; known are accent, warning, refusal.")
    shape = shape or (tone if tone in {"warning", "refusal"} else "")
    return {"word": word, "tone": tone, "drawing": drawing("shapes", shape) if shape else ""}


@register.inclusion_tag("components/hv_badge.html")
def hv_badge(car: bool = False) -> dict[str, object]:
    """Show that a piece may go on high-voltage circuits, or that a car has one."""
    return {"car": car}


@register.simple_block_tag
def verdict(
    content: str, tone: str, sentence: str, word: str = "", size: str = "", id: str = "", level: int = 2
) -> SafeString:
    """State a decision in one sentence, with its shape and word, then the evidence between the tags."""
    tone = pick(VERDICTS, tone, "verdict")
    shown = {
        "content": content.strip() and content,
        "tone": tone,
        "sentence": sentence,
        "word": word or VERDICTS[tone],
        "size": size,
        "id": id,
        "level": level,
        "drawing": drawing("shapes", tone),
    }
    return render_to_string("components/verdict.html", shown)


@register.inclusion_tag("components/reason_rows.html")
def reason_rows(rows: Iterable[object]) -> dict[str, object]:
    """Show one row for each piece: mark, name, verdict, and every reason with its fix and source."""
    return {"rows": rows}


@register.inclusion_tag("components/reason_row.html")
def reason_row(row: object) -> dict[str, object]:
    """Show one piece's verdict and every reason for it."""
    return {"row": row}


@register.inclusion_tag("components/verdict_word.html")
def verdict_word(tone: str, word: str = "") -> dict[str, object]:
    """Show a verdict in a word beside its shape, for rows and tables."""
    tone = pick(VERDICTS, tone, "verdict")
    badge_tone = {"good": "accent", "unknown": ""}.get(tone, tone)
    return {"word": word or VERDICTS[tone], "tone": badge_tone, "drawing": drawing("shapes", tone)}


@register.inclusion_tag("components/caution.html")
def caution(hazard: str, text: str = "", source: str = "") -> dict[str, object]:
    """Warn of a hazard where the step is; without a text the usual caution of the trade."""
    hazard = pick(HAZARDS, hazard, "hazard")
    return {
        "word": HAZARDS[hazard],
        "text": text or CAUTIONS[hazard],
        "source": source,
        "drawing": drawing("hazards", hazard),
    }


@register.inclusion_tag("components/cautions.html")
def cautions(hazards: Iterable[str]) -> dict[str, object]:
    """Warn of several hazards, and say once who decides in the end."""
    return {"hazards": list(hazards)}


@register.inclusion_tag("components/piece_card.html")
def piece_card(piece: object, name: str = "", value: str = "", checked: bool = False) -> dict[str, object]:
    """Show a piece of equipment; with a name it is a tile to tick in a form."""
    return {"piece": piece, "name": name, "value": value, "checked": checked}
