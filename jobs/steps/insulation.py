"""Insulation test of the compressor: a reading with its test voltage, never a pass by default."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from jobs.errors import ValuesInvalid
from jobs.procedure import Outcome
from jobs.steps.answers import COMMON_PRACTICE, Answer, Finding, Output, good, note, refusal, warning
from jobs.steps.context import StepContext
from jobs.steps.fields import FieldSpec, Text, choice, duration, long_text, quantity, temperature, text
from jobs.steps.values import Values
from shopcool.engineering.quantities import Kind, Quantity, format_reading

#: Below this share of its nominal voltage the tester is loaded down by a fault.
LOADED_SHARE = 0.9
#: Vehicle floors per volt of working voltage [Ω/V].
FLOORS_OHM_PER_V = (100.0, 500.0)
FLOOR_SOURCE = "UN R100 5.1.3: 100 Ω/V DC, 500 Ω/V AC or connected buses"
VOLTAGE_SOURCE = "ISO 6469-3: the test voltage reaches the working voltage"


def _test_voltage(name: str, label: Text) -> FieldSpec:
    return quantity(
        name,
        label,
        Kind.VOLTAGE,
        unit="V",
        limits=(1.0, 5000.0),
        sentence=gettext_lazy("Insulation testers work below 5000 V: check number and unit."),
    )


FIELDS = (
    quantity(
        "resistance",
        gettext_lazy("Insulation resistance"),
        Kind.RESISTANCE,
        unit="MΩ",
        help=gettext_lazy("As the tester shows it: “12.5”, “> 2.2 GΩ”, or “OL” beyond its range."),
    ),
    text("between", gettext_lazy("Measured between")),
    long_text(
        "disconnected",
        gettext_lazy("What was disconnected"),
        help=gettext_lazy("Plugs, monitors, capacitors."),
    ),
    _test_voltage("nominal_voltage", gettext_lazy("Tester set to")),
    _test_voltage("actual_voltage", gettext_lazy("Voltage under the reading")).optional(),
    duration("applied", gettext_lazy("Applied for"), unit="s"),
    temperature("temperature", gettext_lazy("Temperature of the part")).optional(),
    choice(
        "surface",
        gettext_lazy("Plugs and surface"),
        (("DRY", gettext_lazy("dry and clean")), ("WET", gettext_lazy("wet or dirty"))),
    ),
    quantity(
        "limit",
        gettext_lazy("Least value by the vehicle maker"),
        Kind.RESISTANCE,
        unit="MΩ",
        help=gettext_lazy("Leave empty if you do not have it: then there is no verdict."),
    ).optional(),
    text("limit_source", gettext_lazy("Where that value stands")).optional(),
)


def evaluate(values: Values, context: StepContext) -> Answer:
    """Return the verdict against the vehicle maker's limit, or none where nothing allows one."""
    reading, limit = _checked(values)
    findings = _tester(values, context)
    stopped = bool(findings)
    loaded = any(finding.code == "tester_loaded" for finding in findings)
    if loaded:
        outcome = Outcome.FAILED
    elif limit is None:
        outcome = Outcome.NO_VERDICT
        findings.append(note("no_limit", _("Without the vehicle maker's limit there is no verdict.")))
    else:
        outcome, finding = _compare(reading, limit, values.text("limit_source"), stopped)
        findings.append(finding)
    findings.extend(_circumstances(values))
    return Answer(outcome, findings=tuple(findings), outputs=_outputs(reading, context))


def _checked(values: Values) -> tuple[Quantity, float | None]:
    reading, limit = values.quantity("resistance"), values.quantity("limit")
    if reading is None:
        raise KeyError("resistance")
    if limit is None:
        return reading, None
    if limit.comparator:
        raise ValuesInvalid({"limit": [_("A limit is one number, without > or <.")]})
    if not values.text("limit_source"):
        raise ValuesInvalid({"limit_source": [_("Say where the vehicle maker's limit stands.")]})
    return reading, limit.si


def _tester(values: Values, context: StepContext) -> list[Finding]:
    nominal, actual = values.needed("nominal_voltage"), values.si("actual_voltage")
    found = []
    if actual is not None and actual < LOADED_SHARE * nominal:
        sentence = _(
            "The tester fell to %(actual)g of %(nominal)g V: a fault was found, "
            "and the value does not hold at the nominal voltage."
        )
        numbers = {"actual": actual, "nominal": nominal}
        found.append(
            refusal("tester_loaded", sentence % numbers, f"≥ {LOADED_SHARE * nominal:g} V", COMMON_PRACTICE)
        )
    working = context.working_voltage_v
    if working is not None and nominal < working:
        sentence = _("%(nominal)g V can't clear a system that works at %(working)g V.")
        numbers = {"nominal": nominal, "working": working}
        found.append(warning("test_voltage_too_low", sentence % numbers, f"≥ {working:g} V", VOLTAGE_SOURCE))
    return found


def _compare(reading: Quantity, limit: float, source: str, voltage_too_low: bool) -> tuple[Outcome, Finding]:
    shown = f"≥ {_shown(limit)}"
    above, below = reading.comparator == ">", reading.comparator == "<"
    if (not above and reading.si < limit) or (below and reading.si <= limit):
        sentence = _("The insulation is below the vehicle maker's limit.")
        return Outcome.FAILED, refusal("below_limit", sentence, shown, source)
    if below or (above and reading.si < limit):
        sentence = _(
            "The reading is a limit itself and can't be compared: the tester's range ends too early."
        )
        return Outcome.NO_VERDICT, note("range_too_small", sentence, shown, source)
    if voltage_too_low:
        sentence = _("The value is above the limit, but the test voltage does not allow a pass.")
        return Outcome.NO_VERDICT, note("no_pass_at_this_voltage", sentence, shown, source)
    sentence = _("The insulation is above the vehicle maker's limit.")
    return Outcome.PASSED, good("above_limit", sentence, shown, source)


def _circumstances(values: Values) -> list[Finding]:
    found = []
    if not values.has("actual_voltage"):
        sentence = _("The voltage under the reading was not recorded: a loaded tester can't be told.")
        found.append(note("actual_voltage_missing", sentence))
    if values.text("surface") == "WET":
        sentence = _("Wet or dirty plugs lower the reading: clean, dry and repeat.")
        found.append(warning("surface_wet", sentence, source=COMMON_PRACTICE))
    sentence = _(
        "Discharge the part after the test. Cold liquid refrigerant in the compressor lowers the value."
    )
    found.append(note("after_the_test", sentence, source=COMMON_PRACTICE))
    return found


def _outputs(reading: Quantity, context: StepContext) -> tuple[Output, ...]:
    outputs = [Output("resistance", _("Insulation resistance"), reading.si or None, format_reading(reading))]
    if context.working_voltage_v is not None:
        low, high = (factor * context.working_voltage_v for factor in FLOORS_OHM_PER_V)
        text = _(
            "%(low)s (DC) or %(high)s (AC or connected buses), %(source)s; not a limit for one compressor"
        )
        words = {"low": _shown(low), "high": _shown(high), "source": FLOOR_SOURCE}
        outputs.append(Output("vehicle_floor", _("Legal floor of the whole vehicle"), high, text % words))
    return tuple(outputs)


def _shown(ohm: float) -> str:
    if ohm < 1e6:
        return f"{ohm / 1e3:g} kΩ"
    return f"{ohm / 1e6:g} MΩ"
