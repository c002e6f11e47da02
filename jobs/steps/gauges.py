"""What readings before and after share: a pair of pressures, the air around, and how the car was running."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from jobs.errors import ValuesInvalid
from jobs.steps.answers import COMMON_PRACTICE, Finding, Output, note, warning
from jobs.steps.context import StepContext
from jobs.steps.fields import choice, pressure, quantity, share, temperature, text
from jobs.steps.values import Values
from shopcool.engineering.quantities import Kind

STATIC, RUNNING = "STATIC", "RUNNING"
#: Gauge classes of service equipment allow about 1.6 % of 10 bar; twice that is no difference.
EQUAL_PA = 35_000.0

GAUGE_FIELDS = (
    choice(
        "state",
        gettext_lazy("The system was"),
        (
            (STATIC, gettext_lazy("off, pressures equalised")),
            (RUNNING, gettext_lazy("running")),
        ),
    ),
    pressure("low", gettext_lazy("Low side")),
    pressure("high", gettext_lazy("High side")),
    temperature("ambient", gettext_lazy("Air temperature")),
    share("humidity", gettext_lazy("Relative humidity")).optional(),
    temperature("vent", gettext_lazy("Vent temperature")).when("state", RUNNING).optional(),
    quantity(
        "speed",
        gettext_lazy("Compressor or engine speed"),
        Kind.SPEED_RPM,
        unit="rpm",
        limits=(0.0, 15_000.0),
        sentence=gettext_lazy("Speeds stay below 15 000 rpm: check number and unit."),
    )
    .when("state", RUNNING)
    .optional(),
    text("conditions", gettext_lazy("Blower, recirculation, doors")).when("state", RUNNING).optional(),
)


def pair_findings(values: Values, context: StepContext) -> list[Finding]:
    """Return what the pair of pressures says by itself."""
    findings = _static(values) if values.text("state") == STATIC else _running(values)
    if values.text("state") == RUNNING and context.case.facts.is_high_voltage:
        sentence = _(
            "The vehicle was switched on: prove the absence of voltage again before work on its parts."
        )
        findings.append(warning("switched_on", sentence, source=COMMON_PRACTICE))
    return findings


def pair_outputs(values: Values, context: StepContext) -> tuple[Output, ...]:
    """Return both pressures as absolute ones in the shop's unit."""
    return tuple(
        Output(
            name, label, values.si(name), context.shown(values.needed(name), Kind.PRESSURE, basis="absolute")
        )
        for name, label in (("low", _("Low side, absolute")), ("high", _("High side, absolute")))
    )


def _static(values: Values) -> list[Finding]:
    found = []
    if abs(values.needed("high") - values.needed("low")) > EQUAL_PA:
        sentence = _("High and low side differ: the pressures have not equalised, or a gauge is off.")
        found.append(warning("not_equalised", sentence, source=COMMON_PRACTICE))
    sentence = _(
        "A static pressure says that liquid is present, never that the charge is right or which gas it is."
    )
    found.append(note("static_limits", sentence, source=COMMON_PRACTICE))
    return found


def _running(values: Values) -> list[Finding]:
    low, high = values.needed("low"), values.needed("high")
    if low > high + EQUAL_PA:
        sentence = _("The low side is above the high side: are the readings swapped?")
        raise ValuesInvalid({"low": [sentence]})
    if high - low <= EQUAL_PA:
        sentence = _(
            "Equal pressures while running: nothing is pumped. Check drive and control before the compressor."
        )
        return [warning("not_pumping", sentence, source=COMMON_PRACTICE)]
    return []
