"""High-voltage precautions: shut down, wait, prove the absence of voltage."""

from __future__ import annotations

from datetime import date

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from equipment.choices import PieceKind
from jobs.procedure import Outcome
from jobs.steps.answers import (
    COMMON_PRACTICE,
    SHOP_POLICY,
    Answer,
    Finding,
    Output,
    Tone,
    good,
    note,
    refusal,
    warning,
)
from jobs.steps.context import StepContext
from jobs.steps.fields import OTHER_INSTRUMENT, choice, day, duration, instrument, quantity, text, yes_no
from jobs.steps.values import Values
from shopcool.core.months import add_months
from shopcool.engineering.quantities import Kind
from shopcool.shop.limits import OLDEST_GLOVE_TEST_MONTHS

SAFE_VOLTAGE_V = 60.0
SAFE_LIMIT = f"< {SAFE_VOLTAGE_V:g} V"
#: Highest use voltage of the glove classes, AC rms [V].
GLOVE_CLASSES = {"00": 500.0, "0": 1000.0, "1": 7500.0}

VOLTAGE_SOURCE = "49 CFR 571.305 S5.3(b) and UN R100: 60 V DC"
GLOVE_SOURCE = "29 CFR 1910.137 tables I-4 and I-5"
PROVING_SOURCE = "29 CFR 1910.333(b)(2)(iv)(B); NFPA 70E 120.5(7) (secondary source)"

FIELDS = (
    yes_no(
        "isolated",
        gettext_lazy("Vehicle off, service disconnect open and kept from being closed"),
        help=gettext_lazy("In the order and with the means that the vehicle maker gives."),
    ),
    duration("waited", gettext_lazy("Waited since then")),
    instrument("voltage_tester", gettext_lazy("Voltage tester"), PieceKind.VOLTAGE_TESTER),
    yes_no("proved_before", gettext_lazy("Voltage tester proved on a known source before")),
    text("measured_at", gettext_lazy("Measured at"), help=gettext_lazy("The vehicle maker's test points.")),
    quantity(
        "voltage",
        gettext_lazy("Highest DC voltage measured"),
        Kind.VOLTAGE,
        unit="V",
        limits=(0.0, 1500.0),
        sentence=gettext_lazy("Vehicles stay below 1500 V: check number and unit."),
    ),
    yes_no("proved_after", gettext_lazy("Voltage tester proved on a known source after")),
    instrument("gloves", gettext_lazy("Insulating gloves"), PieceKind.GLOVES),
    choice(
        "glove_class",
        gettext_lazy("Class of the insulating gloves"),
        tuple((name, name) for name in GLOVE_CLASSES),
    ).when("gloves", OTHER_INSTRUMENT),
    day("gloves_tested_on", gettext_lazy("Gloves last tested on")).when("gloves", OTHER_INSTRUMENT),
    yes_no("gloves_checked", gettext_lazy("Gloves looked at and air-tested today")),
)


def evaluate(values: Values, context: StepContext) -> Answer:
    """Return whether work on high-voltage parts may begin: everything proved, nothing assumed."""
    findings = [*_isolation(values, context), *_proof(values), *_gloves(values, context)]
    safe = not any(finding.tone is Tone.REFUSAL for finding in findings)
    if safe:
        sentence = _("%(voltage)s V: no high voltage was found, with a tester proved before and after.")
        words = {"voltage": f"{values.needed('voltage'):g}"}
        findings.append(good("de_energised", sentence % words, SAFE_LIMIT, VOLTAGE_SOURCE))
    findings.append(
        note(
            "maker_first",
            _("The vehicle maker's instructions, local rules and licensed practice come before this list."),
        )
    )
    outcome = Outcome.SAFE if safe else Outcome.NOT_SAFE
    in_date = gloves_in_date(values, context.today, context.policy.glove_test_months)
    outputs = (Output("gloves_in_date", _("Gloves in date"), None, _("yes") if in_date else _("no")),)
    return Answer(outcome, satisfied=safe, findings=tuple(findings), outputs=outputs)


def gloves_in_date(values: Values, today: date, months: int = OLDEST_GLOVE_TEST_MONTHS) -> bool:
    """Return whether the gloves' last test is young enough: six months at most, or fewer by shop policy.

    Registered gloves were in date when they were named, until the day that their page gave then.
    """
    gloves = values.named("gloves")
    if gloves is not None:
        return today <= date.fromisoformat(str(gloves["good_until"]))
    tested = values.day("gloves_tested_on")
    return tested is not None and tested <= today <= add_months(tested, months)


def _isolation(values: Values, context: StepContext) -> list[Finding]:
    found = []
    if not values.yes("isolated"):
        found.append(
            refusal(
                "not_isolated",
                _("The vehicle is not isolated: open and secure the service disconnect."),
                source=COMMON_PRACTICE,
            )
        )
    by_maker = context.maker_wait_minutes is not None
    minutes = (
        context.maker_wait_minutes if context.maker_wait_minutes is not None else context.policy.wait_minutes
    )
    limit = _("%(minutes)d min") % {"minutes": minutes}
    source = _("vehicle maker") if by_maker else SHOP_POLICY
    if values.needed("waited") < minutes * 60:
        sentence = _("Wait at least %(minutes)d minutes: capacitors need time to discharge.")
        found.append(refusal("wait_too_short", sentence % {"minutes": minutes}, limit, source))
    if not by_maker:
        sentence = _("The vehicle maker's waiting time is not on file; the shop's own one was used.")
        found.append(warning("wait_not_by_maker", sentence, limit, SHOP_POLICY))
    return found


def _proof(values: Values) -> list[Finding]:
    found = []
    if values.needed("voltage") >= SAFE_VOLTAGE_V:
        sentence = _("There is still high voltage. Stop, close up, and find out why.")
        found.append(refusal("voltage_present", sentence, SAFE_LIMIT, VOLTAGE_SOURCE))
    if not (values.yes("proved_before") and values.yes("proved_after")):
        sentence = _("The tester was not proved before and after: a dead tester shows no voltage either.")
        found.append(refusal("tester_not_proved", sentence, source=PROVING_SOURCE))
    return found


def _gloves(values: Values, context: StepContext) -> list[Finding]:
    tone = refusal if context.policy.gloves_required else warning
    found = []
    months = context.policy.glove_test_months
    if not gloves_in_date(values, context.today, months):
        words = {"months": months}
        sentence = _("The gloves' last test is more than %(months)d months old, or lies in the future.")
        source = GLOVE_SOURCE if months == OLDEST_GLOVE_TEST_MONTHS else SHOP_POLICY
        found.append(tone("gloves_out_of_date", sentence % words, _("%(months)d months") % words, source))
    if not values.yes("gloves_checked"):
        sentence = _("Look at the gloves and air-test them before each day's use.")
        found.append(tone("gloves_not_checked", sentence, source="29 CFR 1910.137(c)(2)(ii)"))
    gloves = values.named("gloves") or {}
    highest = GLOVE_CLASSES[str(gloves.get("glove_class") or values.text("glove_class"))]
    if context.working_voltage_v is not None and context.working_voltage_v > highest:
        sentence = _("Gloves of this class are for %(limit)g V AC; the circuit works at %(voltage)g V.")
        numbers = {"limit": highest, "voltage": context.working_voltage_v}
        found.append(tone("glove_class_too_low", sentence % numbers, f"{highest:g} V AC", GLOVE_SOURCE))
    return found
