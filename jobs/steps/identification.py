"""Refrigerant identification: purity, hydrocarbon and air as three separate results."""

from __future__ import annotations

from dataclasses import replace

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from equipment.choices import PieceKind
from jobs.errors import ValuesInvalid
from jobs.procedure import Outcome
from jobs.steps.answers import (
    COMMON_PRACTICE,
    SHOP_POLICY,
    Answer,
    Finding,
    Output,
    good,
    note,
    refusal,
    warning,
)
from jobs.steps.context import StepContext
from jobs.steps.fields import OTHER_INSTRUMENT, choice, instrument, pressure, share, text
from jobs.steps.values import Values
from shopcool.engineering.quantities import Kind
from shopcool.vehicles.choices import Refrigerant

ANALYSED, NOT_ANALYSABLE, EMPTY = "ANALYSED", "NOT_ANALYSABLE", "EMPTY"
OTHER = "OTHER"
#: Identifiers round to 0.1 % and leave traces unnamed.
SUM_TOLERANCE = 0.005
#: Gauge pressure below which nothing is left that could be analysed or recovered [Pa].
NO_PRESSURE_PA = 20_000.0

PURITY_SOURCE = "SAE J2099: at least 98 % identified (secondary source); shop policy"
HYDROCARBON_SOURCE = "SAE J2927: alarm at 2 % hydrocarbon (secondary source); shop policy"

FIELDS = (
    choice(
        "result",
        gettext_lazy("The identifier"),
        (
            (ANALYSED, gettext_lazy("analysed the refrigerant")),
            (NOT_ANALYSABLE, gettext_lazy("could not analyse it")),
            (EMPTY, gettext_lazy("was not used: the circuit is empty")),
        ),
    ),
    share("purity", gettext_lazy("Expected refrigerant")).when("result", ANALYSED),
    share("hydrocarbon", gettext_lazy("Hydrocarbon")).when("result", ANALYSED),
    share(
        "other",
        gettext_lazy("Other refrigerants"),
        help=gettext_lazy("Leave empty if it shows none of them."),
    )
    .when("result", ANALYSED)
    .optional(),
    text("other_named", gettext_lazy("Which others")).when("result", ANALYSED).optional(),
    share("air", gettext_lazy("Air"), help=gettext_lazy("Not part of the purity figure."))
    .when("result", ANALYSED)
    .optional(),
    choice(
        "reason",
        gettext_lazy("Why not"),
        (
            ("PRESSURE_TOO_LOW", gettext_lazy("Pressure too low")),
            ("OIL_OR_AIR_IN_SAMPLE", gettext_lazy("Oil drops or air in the sample hose")),
            ("IDENTIFIER_FAULT", gettext_lazy("Fault of the identifier")),
            (OTHER, gettext_lazy("Another reason")),
        ),
    ).when("result", NOT_ANALYSABLE),
    text("reason_text", gettext_lazy("Which reason")).when("reason", OTHER),
    pressure(
        "pressure",
        gettext_lazy("Pressure in the circuit"),
        help=gettext_lazy("An empty circuit shows no more than the air around it."),
    ).when("result", EMPTY),
    instrument("identified_with", gettext_lazy("Identifier"), PieceKind.IDENTIFIER).when(
        "result", ANALYSED, NOT_ANALYSABLE
    ),
    text("identifier", gettext_lazy("Which identifier")).when("identified_with", OTHER_INSTRUMENT),
    choice(
        "filter",
        gettext_lazy("Its sample filter"),
        (
            ("CLEAN", gettext_lazy("clean")),
            ("DISCOLOURED", gettext_lazy("discoloured: replace it")),
            ("REPLACED", gettext_lazy("replaced now")),
        ),
    ).when("result", ANALYSED, NOT_ANALYSABLE),
)


def evaluate(values: Values, context: StepContext) -> Answer:
    """Return passed, failed, not analysable or empty; the three results of an analysis are never averaged."""
    answers = {ANALYSED: _analysed, NOT_ANALYSABLE: _not_analysable, EMPTY: _empty}
    answer = answers[values.text("result")](values, context)
    gas = str(context.case.facts.refrigerant.label)
    expected = Output("expected", _("Expected refrigerant"), None, gas)
    if values.text("filter") == "DISCOLOURED":
        sentence = _("The sample filter is discoloured: results of this identifier can be wrong.")
        finding = warning("filter_discoloured", sentence, source=COMMON_PRACTICE)
        answer = replace(answer, findings=(*answer.findings, finding))
    return replace(answer, outputs=(expected, *answer.outputs))


def is_about(answer: Answer, gas: Refrigerant) -> bool:
    """Return whether an identification looked for this gas; the data of the vehicle may name another now."""
    expected = answer.output("expected")
    return expected is None or expected.text == str(gas.label)


def _analysed(values: Values, context: StepContext) -> Answer:
    _check_sum(values)
    if context.case.facts.refrigerant is Refrigerant.UNKNOWN:
        return _nothing_expected()
    purity, hydrocarbon = values.needed("purity"), values.needed("hydrocarbon")
    policy = context.policy
    pure = _at_least(purity, policy.minimum_purity)
    flammable = _at_least(hydrocarbon, policy.maximum_hydrocarbon)
    findings = [
        _purity(pure, context),
        _hydrocarbon(flammable, context),
        _air(values, pure, context),
    ]
    passed = pure and not flammable
    if not passed:
        sentence = _(
            "Only recover it into a cylinder marked for contaminated refrigerant; never into a machine."
        )
        findings.append(refusal("marked_cylinder_only", sentence, source=COMMON_PRACTICE))
    outputs = (
        Output("purity", _("Purity"), purity, context.shown(purity, Kind.FRACTION)),
        Output("hydrocarbon", _("Hydrocarbon"), hydrocarbon, context.shown(hydrocarbon, Kind.FRACTION)),
        _air_output(values, pure, context),
    )
    return Answer(Outcome.PASSED if passed else Outcome.FAILED, findings=tuple(findings), outputs=outputs)


def _nothing_expected() -> Answer:
    """Return that a purity of nobody knows what neither passes nor fails."""
    sentence = _(
        "The vehicle's data names no refrigerant, so there is nothing to pass: enter it from the label on "
        "the vehicle's page, then identify again."
    )
    finding = refusal("nothing_expected", sentence, source=COMMON_PRACTICE)
    return Answer(Outcome.NOT_DONE, satisfied=False, findings=(finding,))


def _check_sum(values: Values) -> None:
    total = values.needed("purity") + values.needed("hydrocarbon") + values.si("other", 0.0)
    if total > 1.0 + SUM_TOLERANCE or (values.has("other") and total < 1.0 - SUM_TOLERANCE):
        sentence = _("The shares add up to %(sum).1f %%, not 100 %%: check them. Air is counted separately.")
        raise ValuesInvalid({"purity": [sentence % {"sum": total * 100}]})


def _at_least(value: float, limit: float) -> bool:
    """Compare as typed: 98.0 % is not below 98 % because of a rounding in the last bit."""
    return round(value - limit, 9) >= 0.0


def _purity(pure: bool, context: StepContext) -> Finding:
    limit = f"≥ {context.shown(context.policy.minimum_purity, Kind.FRACTION)}"
    gas = {"gas": context.case.facts.refrigerant.label}
    if pure:
        return good(
            "purity_passed", _("This %(gas)s is pure enough for a machine.") % gas, limit, PURITY_SOURCE
        )
    sentence = _("Not %(gas)s, or not pure enough: a machine must not take it.") % gas
    return refusal("purity_failed", sentence, limit, PURITY_SOURCE)


def _hydrocarbon(flammable: bool, context: StepContext) -> Finding:
    limit = f"< {context.shown(context.policy.maximum_hydrocarbon, Kind.FRACTION)}"
    if flammable:
        sentence = _("Hydrocarbon: the gas may be flammable. Keep flames and sparks away.")
        return refusal("hydrocarbon_found", sentence, limit, HYDROCARBON_SOURCE)
    return good("hydrocarbon_passed", _("No hydrocarbon above the limit."), limit, HYDROCARBON_SOURCE)


def _air(values: Values, pure: bool, context: StepContext) -> Finding:
    if not pure or not values.has("air"):
        return note("air_not_measured", _("Air was not measured: it only counts when the purity passes."))
    limit = f"≤ {context.shown(context.policy.maximum_air, Kind.FRACTION)}"
    if values.needed("air") > context.policy.maximum_air + 1e-9:
        sentence = _("The gas holds air. It is not contaminated, but has to be purged or reclaimed.")
        return warning("air_found", sentence, limit, SHOP_POLICY)
    return good("air_passed", _("Air is within the limit."), limit, SHOP_POLICY)


def _air_output(values: Values, pure: bool, context: StepContext) -> Output:
    if not pure or not values.has("air"):
        return Output("air", _("Air"), None, _("not measured"))
    return Output("air", _("Air"), values.si("air"), context.shown(values.needed("air"), Kind.FRACTION))


def _not_analysable(values: Values, context: StepContext) -> Answer:
    sentence = _("Not analysable is neither pass nor fail: follow the vehicle maker's procedure for it.")
    findings = (
        refusal("not_analysable", sentence, source=COMMON_PRACTICE),
        refusal(
            "marked_cylinder_only",
            _("Only recover it into a cylinder marked for contaminated refrigerant; never into a machine."),
            source=COMMON_PRACTICE,
        ),
    )
    return Answer(Outcome.NOT_ANALYSABLE, findings=findings)


def _empty(values: Values, context: StepContext) -> Answer:
    gauge_pa = values.needed("pressure") - context.atmosphere_pa
    if gauge_pa > NO_PRESSURE_PA:
        sentence = _("There is pressure in the circuit, so it is not empty: identify the gas.")
        raise ValuesInvalid({"pressure": [sentence]})
    sentence = _("Nothing is left that could be identified. Search the leak before the charge.")
    return Answer(Outcome.EMPTY, findings=(warning("circuit_empty", sentence, source=COMMON_PRACTICE),))
