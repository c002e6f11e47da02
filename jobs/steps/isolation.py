"""Trouble codes by the maker's table; isolation codes with where to look and which oil went in last."""

from __future__ import annotations

from collections.abc import Mapping

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from jobs.choices import StepKind
from jobs.steps.answers import COMMON_PRACTICE, Finding, note, warning
from jobs.steps.context import Past, StepContext
from jobs.steps.fields import choice, text
from jobs.steps.trouble_codes import KnownCode, TroubleCode, trouble_codes
from jobs.steps.values import Values
from shopcool.engineering.quantities import Kind

NO_PLACE, CIRCUIT, AREA, ELSEWHERE = "NO_PLACE", "CIRCUIT", "AREA", "ELSEWHERE"

ISOLATION_FIELDS = (
    choice(
        "isolation_place",
        gettext_lazy("Where the maker's table puts the isolation code"),
        (
            (NO_PLACE, gettext_lazy("no place yet")),
            (CIRCUIT, gettext_lazy("A/C circuit or compressor")),
            (AREA, gettext_lazy("an area that holds the compressor")),
            (ELSEWHERE, gettext_lazy("somewhere else")),
        ),
        help=gettext_lazy(
            "Only if such a code is stored: the table of exactly this model. What the owner has entered is "
            "read by itself."
        ),
    ).optional(),
    text("isolation_source", gettext_lazy("Where this table stands")).when(
        "isolation_place", NO_PLACE, CIRCUIT, AREA, ELSEWHERE
    ),
)


def code_findings(values: Values, context: StepContext) -> list[Finding]:
    """Return what stored codes mean by the table on file, and where fallen insulation is looked for."""
    codes = trouble_codes(values.text("fault_codes"))
    if not codes:
        return []
    known = {(line.code, line.sub_code): line for line in context.codes}
    lines = {code: known.get((code.code, code.sub_code)) for code in codes}
    found = [_on_file(code, line) for code, line in lines.items() if line is not None]
    isolation = [code for code in codes if code.is_isolation]
    if not isolation:
        return found
    return [*_located(isolation, lines, values), *found, _last_oil(context)]


def _on_file(code: TroubleCode, line: KnownCode) -> Finding:
    words = {"code": code, "meaning": line.meaning.rstrip("."), "model": _("the table of this model")}
    return note("code_on_file", _("%(code)s by %(model)s: %(meaning)s.") % words, source=line.source)


def _located(
    codes: list[TroubleCode], lines: Mapping[TroubleCode, KnownCode | None], values: Values
) -> list[Finding]:
    """Return one finding for each place that the table, or what was typed, gives for isolation codes."""
    places: dict[tuple[str, str], list[TroubleCode]] = {}
    for code in codes:
        places.setdefault(_place(code, lines[code], values), []).append(code)
    return [_meaning(found, place, source) for (place, source), found in places.items()]


def _place(code: TroubleCode, line: KnownCode | None, values: Values) -> tuple[str, str]:
    """Return where a code points and who says so; the code alone points nowhere."""
    if not code.sub_code:
        return NO_PLACE, COMMON_PRACTICE
    if line is not None:
        return line.area.value, line.source
    return values.text("isolation_place") or NO_PLACE, values.text("isolation_source") or COMMON_PRACTICE


def _meaning(codes: list[TroubleCode], place: str, source: str) -> Finding:
    """Return where to look; without a place of the maker's own table no part is blamed."""
    words = {"codes": ", ".join(map(str, codes))}
    if place == CIRCUIT:
        sentence = _(
            "%(codes)s points at the A/C circuit: compressor and oil first. Measure before a part goes."
        )
        return warning("isolation_in_circuit", sentence % words, source=source)
    if place == AREA:
        sentence = _("%(codes)s keeps the compressor in play: isolate section by section and measure each.")
        return warning("isolation_in_area", sentence % words, source=source)
    if place == ELSEWHERE:
        sentence = _("%(codes)s points elsewhere. Measure the insulation there before a part is condemned.")
        return warning("isolation_elsewhere", sentence % words, source=source)
    sentence = _(
        "%(codes)s says that insulation fell, not where: it condemns no compressor and no battery. "
        "Shut down, isolate section by section and measure each against the case."
    )
    return warning("isolation_not_located", sentence % words, source=source)


def _last_oil(context: StepContext) -> Finding:
    """Return which oil the last service put in, for a code that came after it."""
    if context.case.facts.other_oil_suspected:
        sentence = _("Other oil may have entered this circuit before: test an oil sample first.")
        return warning("isolation_other_oil", sentence)
    services = [past for past in context.history if past.kind in {StepKind.CHARGE, StepKind.OIL}]
    if not services:
        sentence = _("No earlier A/C service is on record here: which oil went in last is not known.")
        return note("isolation_oil_unknown", sentence)
    last = max(services, key=lambda past: past.at)
    oil = next((past for past in services if past.kind is StepKind.OIL and _is_same_visit(past, last)), None)
    sentence = _("Last A/C service: %(day)s, job %(job)s. Oil: %(oil)s.")
    words = {"day": date_format(last.at), "job": last.job_number, "oil": _oil(oil, context)}
    return note("isolation_last_oil", sentence % words)


def _is_same_visit(one: Past, other: Past) -> bool:
    return one.job_number == other.job_number


def _oil(past: Past | None, context: StepContext) -> str:
    if past is None or past.values.no("added"):
        return _("none added")
    injector = past.values.stored.get("injector")
    way = injector["code"] if injector else past.values.text("oil")
    amount = context.shown(past.values.si("amount", 0.0), Kind.VOLUME)
    return f"{amount} {past.values.text('grade')} ({way})"
