"""The frame of a page: breadcrumbs, navigation, the person, messages, pages of a list."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from django.contrib.messages.storage.base import Message
from django.core.paginator import Page
from django.http import HttpRequest
from django.template import Context, Library
from django.template.loader import render_to_string
from django.utils.safestring import SafeString

from shopcool.core.components.looks import NOTES, drawing, pick

register = Library()

TABS = {"choice": "filters", "room": "pages of a room"}
NOTE_KINDS = {"success": "good", "warning": "warning", "error": "refusal"}


@register.inclusion_tag("components/breadcrumbs.html")
def breadcrumbs(*trail: str) -> dict[str, object]:
    """Show the way here: label, address, label, address, …, and the label of this page last."""
    pairs = list(zip(trail[0::2], trail[1::2], strict=False))
    return {"pairs": pairs, "here": trail[-1] if len(trail) % 2 else ""}


@register.inclusion_tag("components/navigation.html")
def navigation_bar(places: Iterable[object], label: str = "") -> dict[str, object]:
    """Show the places a person may go; each has label, url, current."""
    return {"places": places, "label": label}


@register.inclusion_tag("components/person_switch.html")
def person_switch(name: object, change_url: str) -> dict[str, object]:
    """Show who works here now, and the way to hand the tablet to the next person."""
    return {"name": name, "change_url": change_url}


@register.inclusion_tag("components/tabs.html")
def tabs(places: Iterable[object], label: str, looks: str = "choice") -> dict[str, object]:
    """Show filters, or the pages of one ``room``; each has label, url, current and perhaps count."""
    return {"places": places, "label": label, "looks": pick(TABS, looks, "looks of tabs")}


@register.inclusion_tag("components/notes.html")
def notes(messages: Iterable[Message] | None) -> dict[str, object]:
    """Show Django's messages, each with its shape and word."""
    shown = [(str(message), NOTE_KINDS.get(message.level_tag, "plain")) for message in messages or ()]
    return {"notes": [_note(text, kind) for text, kind in shown]}


@register.inclusion_tag("components/note.html")
def note(text: str, tone: str = "plain") -> dict[str, object]:
    """Show one remark in a line of its own."""
    return {"note": _note(text, tone)}


def _note(text: str, tone: str) -> dict[str, object]:
    tone = pick(NOTES, tone, "tone of a note")
    return {"text": text, "tone": tone, "word": NOTES[tone], "shape": drawing("shapes", tone)}


@register.inclusion_tag("components/pagination.html", takes_context=True)
def pagination(context: Context, page: Page[object], name: str = "page") -> dict[str, object]:
    """Show the way to the pages before and after; the rest of the query stays."""
    request: HttpRequest = context["request"]
    return {
        "page": page,
        "before": _address(request, page, name, -1),
        "after": _address(request, page, name, 1),
    }


def _address(request: HttpRequest, page: Page[object], name: str, step: int) -> str:
    if not (page.has_next() if step > 0 else page.has_previous()):
        return ""
    query = request.GET.copy()
    query[name] = str(page.number + step)
    return f"?{query.urlencode()}"


@register.inclusion_tag("components/skeleton.html")
def skeleton(kind: str = "rows", count: int = 3) -> dict[str, object]:
    """Show the shape of what comes: rows, cards or number."""
    if kind not in {"rows", "cards", "number"}:
        raise ValueError(f"There is no skeleton {kind!r}; known are rows, cards, number.")
    return {"kind": kind, "shapes": range(count)}


@register.inclusion_tag("components/empty_state.html")
def empty_state(title: str, text: str = "", action: str = "", url: str = "") -> dict[str, object]:
    """Show what to do first where there is nothing yet."""
    return {"title": title, "text": text, "action": action, "url": url}


@register.simple_block_tag
def card(content: str, title: str = "", tone: str = "", number: str = "", id: str = "") -> SafeString:
    """Put content on a sheet; tone is empty, current or flat."""
    if tone not in {"", "current", "flat"}:
        raise ValueError(f"There is no card {tone!r}; known are current and flat.")
    shown = {"content": content, "title": title, "tone": tone, "number": number, "id": id}
    return render_to_string("components/card.html", shown)


@register.simple_block_tag
def table(content: str, caption: str, hide_caption: bool = False) -> SafeString:
    """Put rows in a frame of their own that scrolls when the screen is narrow."""
    shown = {"content": content, "caption": caption, "hide_caption": hide_caption}
    return render_to_string("components/table.html", shown)


@register.inclusion_tag("components/facts.html")
def facts(pairs: Sequence[Sequence[str]]) -> dict[str, object]:
    """Show labelled facts, each a pair (label, value) or a triple with a note beneath."""
    return {"facts": [(pair[0], pair[1], pair[2] if len(pair) > 2 else "") for pair in pairs]}
