"""Numbers that a person works with: quantities, stats, timers, progress."""

from __future__ import annotations

from datetime import datetime

from django.template import Library
from django.utils.safestring import SafeString
from django.utils.translation import gettext_lazy as _

from shopcool.core.components.looks import drawing

register = Library()

TONES = frozenset({"", "warning", "refusal"})


@register.inclusion_tag("components/quantity.html")
def quantity(
    label: str,
    value: object,
    unit: str = "",
    *,
    limit: str = "",
    source: str = "",
    also: str = "",
    tone: str = "",
    size: str = "",
) -> dict[str, object]:
    """Show a value large with its unit beside, its limit and source beneath; None reads "not measured"."""
    if tone not in TONES:
        raise ValueError(f"There is no quantity {tone!r}; known are warning and refusal.")
    missing = value is None or value == ""
    return {
        "label": label,
        "value": _("not measured") if missing else value,
        "missing": missing,
        "unit": "" if missing else unit,
        "limit": limit,
        "source": source,
        "also": also,
        "tone": "none" if missing else tone,
        "size": size,
        "drawing": drawing("shapes", tone) if tone and not missing else SafeString(""),
    }


@register.inclusion_tag("components/stat.html")
def stat(label: str, value: object, unit: str = "", note: str = "", url: str = "") -> dict[str, object]:
    """Show one number of the workshop, perhaps with the way to what it counts."""
    return {"label": label, "value": value, "unit": unit, "note": note, "url": url}


@register.inclusion_tag("components/timer.html")
def timer(
    label: str, started_at: datetime | None = None, seconds: int = 0, key: str = "", fills: str = ""
) -> dict[str, object]:
    """Show a clock; from ``started_at`` it runs by the calendar, so it survives a locked screen.

    With ``seconds`` it counts down to zero, without it counts up. Without ``started_at`` it needs a ``key``
    under which this tablet remembers the press of its start button. ``fills`` names a field of the same form
    that is given the minutes when time is up, if nobody has filled it in.
    """
    if started_at is None and not key:
        raise ValueError("A timer needs the moment it started, or a key to remember it by.")
    minutes, rest = divmod(int(seconds), 60)
    return {
        "label": label,
        "started_at": started_at,
        "seconds": seconds,
        "key": key,
        "fills": fills,
        "text": f"{minutes}:{rest:02d}",
    }


@register.inclusion_tag("components/progress.html")
def progress(label: str, done: float | None, total: float = 100, note: str = "") -> dict[str, object]:
    """Show how far a work is; ``done`` of None means that it runs but nobody knows how far."""
    return {"label": label, "done": done, "total": total, "note": note}
