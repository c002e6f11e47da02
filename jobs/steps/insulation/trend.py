"""The compressor's insulation over visits, compared only at like conditions."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from jobs.choices import StepKind
from jobs.steps.answers import Finding, note, warning
from jobs.steps.context import StepContext
from jobs.steps.insulation.fields import OIL_SAMPLE
from jobs.steps.insulation.tester import is_loaded, ohms
from jobs.steps.values import Values
from shopcool.core.plots import Level, Mark, Plot
from shopcool.engineering.errors import Refusal
from shopcool.engineering.insulation import Trend, TrendVerdict, Visit, trend

DAYS_OF_A_YEAR = 365.25
_FALLING = frozenset({TrendVerdict.FALLING, TrendVerdict.FALLING_TO_LIMIT})


@dataclass(frozen=True)
class Reading:
    """One comparable reading of the compressor on one day."""

    day: date
    ohm: float
    over_range: bool


def like_readings(values: Values, context: StepContext) -> list[Reading]:
    """Return this reading and those of earlier visits taken alike, oldest first; empty when none compares."""
    own = _reading(values, context.today)
    if own is None:
        return []
    before = [
        found
        for past in context.history
        if past.kind is StepKind.INSULATION
        and _is_alike(past.values, values, context.policy.insulation_like_k)
        and (found := _reading(past.values, past.at.date()))
    ]
    return [*before, own]


def trend_findings(readings: list[Reading], limit: float | None, context: StepContext) -> list[Finding]:
    """Return where the insulation goes, or why that can't be told yet."""
    if len(readings) < 2:
        return []
    try:
        result = _fitted(readings, limit, context)
    except Refusal as error:
        sentence = _("Compared with %(visits)d earlier visits at like conditions. %(why)s")
        return [note("no_trend_yet", sentence % {"visits": len(readings) - 1, "why": error.message})]
    tone = warning if result.verdict in _FALLING else note
    return [tone(result.verdict.value, f"{result.sentence} {_factor(result)}".strip(), source=result.source)]


def trend_plots(readings: list[Reading], limit: float | None) -> tuple[Plot, ...]:
    """Return the drawing of the visits, none before the second one."""
    if len(readings) < 2:
        return ()
    ends = (readings[0], readings[-1])
    return (
        Plot(
            title=_("Insulation over visits at like conditions; a triangle means “more than”"),
            x_label="",
            y_label=_("Resistance [MΩ]"),
            marks=tuple(Mark(_years(one, readings), one.ohm / 1e6, one.over_range) for one in readings),
            line=() if len(readings) < 3 else _line(readings, limit),
            level=Level(limit / 1e6, _("maker's limit")) if limit else None,
            x_ticks=tuple((_years(one, readings), date_format(one.day, "SHORT_DATE_FORMAT")) for one in ends),
            logarithmic=True,
        ),
    )


def _reading(values: Values, day: date) -> Reading | None:
    found = values.quantity("resistance")
    usable = found is not None and found.si > 0.0 and found.comparator != "<"
    if not usable or is_loaded(values) or values.text("surface") != "DRY" or not values.has("temperature"):
        return None
    return Reading(day, found.si, found.comparator == ">") if found else None


def _is_alike(past: Values, present: Values, within_k: float) -> bool:
    if past.text("test") == OIL_SAMPLE or past.si("nominal_voltage") != present.si("nominal_voltage"):
        return False
    then, now = past.si("temperature"), present.si("temperature")
    return then is not None and now is not None and abs(then - now) <= within_k


def _years(reading: Reading, readings: list[Reading]) -> float:
    return (reading.day - readings[0].day).days / DAYS_OF_A_YEAR


def _fitted(readings: list[Reading], limit: float | None, context: StepContext) -> Trend:
    following = _years(readings[-1], readings) + context.policy.next_service_months / 12
    return trend(_visits(readings), next_visit_years=following, limit_ohm=limit)


def _visits(readings: list[Reading]) -> list[Visit]:
    return [Visit(_years(one, readings), one.ohm, one.over_range) for one in readings]


def _line(readings: list[Reading], limit: float | None) -> tuple[tuple[float, float], ...]:
    """Return the fitted line from the first to the last visit, none where limits alone are on file."""
    last = _years(readings[-1], readings)
    try:
        result = trend(_visits(readings), next_visit_years=last, limit_ohm=limit)
    except Refusal:
        return ()
    if result.projected_ohm is None or result.yearly_factor is None:
        return ()
    first = result.projected_ohm / result.yearly_factor**last
    return ((0.0, first / 1e6), (last, result.projected_ohm / 1e6))


def _factor(result: Trend) -> str:
    low, high = result.yearly_factor_low, result.yearly_factor_high
    if result.yearly_factor is None or low is None or high is None or result.projected_ohm is None:
        return ""
    return _(
        "Each year it becomes %(factor).2f of what it was (95 %% interval %(low).2f to %(high).2f); "
        "%(expected)s would be left at the next visit."
    ) % {
        "factor": result.yearly_factor,
        "low": low,
        "high": high,
        "expected": ohms(result.projected_ohm),
    }
