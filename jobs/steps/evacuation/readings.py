"""The readings of a hold: two of them, or a curve that was typed or pasted."""

from __future__ import annotations

import re
from dataclasses import dataclass

from django.utils.translation import gettext as _

from jobs.errors import ValuesInvalid
from jobs.steps.context import StepContext
from jobs.steps.values import Values
from shopcool.engineering.errors import Refusal
from shopcool.engineering.quantities import Kind, parse

#: A pair: a time with or without its unit, something between, a pressure.
_PAIR = re.compile(
    r"(?P<time>\d+(?:[.,:]\d+)*(?:\s*(?:seconds?|secs?|s|minutes?|mins?|min|h))?)"
    r"(?:\s*[;|\t]\s*|\s*,\s+|\s+)(?P<pressure>\S.*)",
    re.IGNORECASE,
)
_UNITS = re.compile(r"\s*(?P<time>[^\W\d]+)[\s;,|]+(?P<pressure>[^\d;,|]+?)\s*")
MOST_LINES = 20_000
SHOWN_CHARACTERS = 40


@dataclass(frozen=True)
class Curve:
    """Readings over time: times [s] from the first one, absolute pressures [Pa]."""

    times_s: tuple[float, ...]
    pressures_pa: tuple[float, ...]


@dataclass(frozen=True)
class Ends:
    """First and last pressure, absolute [Pa], and the time between them [s]."""

    start_pa: float
    end_pa: float
    held_s: float


def curve_of(values: Values, context: StepContext) -> Curve | None:
    """Return the readings over time, None when there are none. Raises ValuesInvalid that names the line."""
    lines = [
        (number, line) for number, line in enumerate(values.text("curve").splitlines(), 1) if line.strip()
    ]
    if not lines:
        return None
    if len(lines) > MOST_LINES:
        raise _wrong(
            _("More than %(number)d lines: take fewer readings per minute.") % {"number": MOST_LINES}
        )
    units = _UNITS.fullmatch(lines[0][1])
    time_unit, pressure_unit = (units["time"], units["pressure"]) if units else ("min", "mbar")
    pairs = [
        _pair(number, line, (time_unit, pressure_unit), context)
        for number, line in lines[1 if units else 0 :]
    ]
    first = pairs[0][0] if pairs else 0.0
    return Curve(tuple(time - first for time, _pa in pairs), tuple(pressure for _s, pressure in pairs))


def ends_of(values: Values, curve: Curve | None) -> Ends:
    """Return both ends of the hold, as they were typed or from its curve."""
    if curve is None:
        return Ends(values.needed("start"), values.needed("end"), values.needed("held"))
    if not curve.times_s:
        raise _wrong(_("The first line names the units; the readings follow below it."))
    return Ends(curve.pressures_pa[0], curve.pressures_pa[-1], curve.times_s[-1])


def _pair(number: int, line: str, units: tuple[str, str], context: StepContext) -> tuple[float, float]:
    found = _PAIR.fullmatch(line.strip())
    if found is None:
        sentence = _(
            "Line %(line)d, “%(text)s”: a time and a pressure stand here, such as “0:30 750 micron”."
        )
        raise _wrong(sentence % {"line": number, "text": line.strip()[:SHOWN_CHARACTERS]})
    try:
        time = parse(found["time"], Kind.DURATION, default_unit=units[0])
        pressure = parse(
            found["pressure"],
            Kind.PRESSURE,
            default_unit=units[1],
            default_basis="absolute",
            atmosphere_pa=context.atmosphere_pa,
        )
    except Refusal as refusal:
        text = {"line": number, "text": line.strip()[:SHOWN_CHARACTERS], "why": refusal.message}
        raise _wrong(_("Line %(line)d, “%(text)s”: %(why)s") % text) from refusal
    return time.si, pressure.si


def _wrong(sentence: str) -> ValuesInvalid:
    return ValuesInvalid({"curve": [sentence]})
