"""What happens in an order: the rail of steps, step cards, timelines, the loop of a purge."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any

from django.template import Library
from django.template.loader import render_to_string
from django.utils.safestring import SafeString

from shopcool.core.components import drawings
from shopcool.core.components.looks import EVENTS, MARKS, STEPS, drawing, pick
from shopcool.core.components.states import mark_word
from shopcool.core.widgets import escaped

register = Library()


def _of(thing: Any, name: str, default: Any = "") -> Any:
    """Return a value of a mapping or an object alike, so that pages may hand over either."""
    return thing.get(name, default) if isinstance(thing, Mapping) else getattr(thing, name, default)


@register.inclusion_tag("components/rail.html")
def rail(steps: Iterable[object]) -> dict[str, object]:
    """Show the procedure; each step has label, state, and perhaps url, note, reason."""
    return {"steps": [_step(step) for step in steps]}


def _step(step: object) -> SafeString:
    """Return one line of the rail, put together here since every page of a job shows them all."""
    state = pick(STEPS, _of(step, "state"), "state of a step")
    told = {name: escaped(_of(step, name)) for name in ("label", "url", "reason", "note")}
    word, current = escaped(STEPS[state]), ' aria-current="step"' if state == "now" else ""
    name = f'<a class="rail__label" href="{told["url"]}">{told["label"]}</a>'
    if not told["url"]:
        name = f'<span class="rail__label">{told["label"]}</span>'
    where = f"<details><summary>{word}</summary><p>{told['reason']}</p></details>"
    if not told["reason"]:
        where = f'<span class="rail__state">{" · ".join(filter(None, (word, told["note"])))}</span>'
    return SafeString(
        f'<li class="rail__step rail__step--{state}"{current}>'
        f'<span class="rail__shape">{drawing("shapes", state)}</span>'
        f'<div class="rail__words">{name}{where}</div></li>'
    )


@register.simple_block_tag
def step_card(content: str, title: str, state: str = "now", number: str = "", note: str = "") -> SafeString:
    """Put one step of the procedure on a sheet with its number, state and inputs."""
    state = pick(STEPS, state, "state of a step")
    shown = {
        "content": content,
        "title": title,
        "state": state,
        "word": STEPS[state],
        "number": number,
        "note": note,
        "drawing": drawing("shapes", state),
    }
    return render_to_string("components/step_card.html", shown)


@register.inclusion_tag("components/timeline.html")
def timeline(entries: Iterable[object]) -> dict[str, object]:
    """Show what happened, in the order given; each entry has at, title, perhaps text, url, who, kind."""
    return {"entries": [_entry(entry) for entry in entries]}


def _entry(entry: object) -> dict[str, object]:
    kind = str(_of(entry, "kind", "") or "plain").lower()
    if kind not in EVENTS:
        raise ValueError(f"There is no event {kind!r}; known are {', '.join(sorted(EVENTS))}.")
    named = {name: _of(entry, name) for name in ("at", "title", "text", "url", "who")}
    return {**named, "kind": kind, "drawing": drawing("shapes", kind)}


@register.inclusion_tag("components/loop.html")
def loop(machine: object, pieces: Sequence[object], state: str = "closed") -> dict[str, object]:
    """Draw the loop of a line purge; machine and pieces have name, and perhaps kind, mark, word, oil.

    ``state`` is open (still being put together), closed, or running.
    """
    if state not in {"open", "closed", "running"}:
        raise ValueError(f"There is no loop {state!r}; known are open, closed, running.")
    return {"machine": machine, "pieces": [_node(piece) for piece in pieces], "state": state}


def _node(piece: object) -> dict[str, object]:
    kind = pick(MARKS, _of(piece, "mark") or "unknown", "mark")
    word = _of(piece, "word") or mark_word(kind, _of(piece, "oil"))
    return {
        "name": _of(piece, "name"),
        "kind": _of(piece, "kind"),
        "word": word,
        "drawing": drawing("marks", kind),
    }


@register.inclusion_tag("components/exposure_timeline.html")
def exposure_timeline(
    rows: Sequence[drawings.Row], start: datetime, end: datetime, label: str
) -> dict[str, object]:
    """Draw the life of a piece from ``start`` to ``end``: bars by oil class, ticks for purges."""
    return {**drawings.timeline(rows, start, end), "label": label}
