"""The vehicle maker's values for running pressures: they hold only in the conditions the maker names."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from jobs.errors import ValuesInvalid
from jobs.steps.answers import Finding, good, note, warning
from jobs.steps.context import StepContext
from jobs.steps.fields import pressure, temperature, text, yes_no
from jobs.steps.values import Values
from shopcool.engineering.diagnosis import Grade, Window, grade_window
from shopcool.engineering.errors import Refusal
from shopcool.engineering.quantities import Kind

_BOUNDS = (
    ("window_low", gettext_lazy("Low side from"), gettext_lazy("Low side to")),
    ("window_high", gettext_lazy("High side from"), gettext_lazy("High side to")),
)

WINDOW_FIELDS = (
    yes_no("window", gettext_lazy("Compare with the vehicle maker's values"))
    .when("state", "RUNNING")
    .optional(),
    *(
        pressure(f"{name}_{end}", label).when("window", "yes")
        for name, lower, upper in _BOUNDS
        for end, label in (("from", lower), ("to", upper))
    ),
    temperature("window_inlet_from", gettext_lazy("For inlet air from")).when("window", "yes"),
    temperature("window_inlet_to", gettext_lazy("For inlet air to")).when("window", "yes"),
    text("window_state", gettext_lazy("And this running state")).when("window", "yes"),
    text("window_source", gettext_lazy("Where the maker says so")).when("window", "yes"),
)


def window_findings(values: Values, context: StepContext) -> list[Finding]:
    """Return both pressures against the maker's values, or why they can't be compared."""
    if not values.yes("window"):
        return []
    window = _window(values)
    inlet = values.si("inlet")
    if inlet is None:
        sentence = _("The maker's values hold for an inlet air temperature: measure it, then compare.")
        return [note("window_needs_inlet", sentence, source=window.source)]
    try:
        grades = grade_window(values.needed("low"), values.needed("high"), inlet, window)
    except Refusal as refusal:
        return [note("window_not_comparable", refusal.message, source=window.source)]
    return [
        _grade("low", grades.low_side, window.low_side_pa, window.source, context),
        _grade("high", grades.high_side, window.high_side_pa, window.source, context),
    ]


def _window(values: Values) -> Window:
    return Window(
        low_side_pa=_range(values, "window_low"),
        high_side_pa=_range(values, "window_high"),
        inlet_k=_range(values, "window_inlet"),
        running_state=values.text("window_state"),
        source=values.text("window_source"),
    )


def _range(values: Values, name: str) -> tuple[float, float]:
    lower, upper = values.needed(f"{name}_from"), values.needed(f"{name}_to")
    if lower > upper:
        raise ValuesInvalid({f"{name}_to": [_("The end of a range lies above its start.")]})
    return lower, upper


def _grade(
    side: str, grade: Grade, bounds: tuple[float, float], source: str, context: StepContext
) -> Finding:
    low, high = (context.shown(bound, Kind.PRESSURE) for bound in bounds)
    limit = _("%(low)s to %(high)s") % {"low": low, "high": high}
    if grade is Grade.INSIDE:
        return good(f"window_{side}_inside", _sentences()[side, grade], limit, source)
    return warning(f"window_{side}_{grade.value}", _sentences()[side, grade], limit, source)


def _sentences() -> dict[tuple[str, Grade], str]:
    return {
        ("low", Grade.INSIDE): _("The low side is within the maker's values."),
        ("low", Grade.BELOW): _("The low side is below the maker's values."),
        ("low", Grade.ABOVE): _("The low side is above the maker's values."),
        ("high", Grade.INSIDE): _("The high side is within the maker's values."),
        ("high", Grade.BELOW): _("The high side is below the maker's values."),
        ("high", Grade.ABOVE): _("The high side is above the maker's values."),
    }
