"""A circuit at rest: its pressure against saturation, never against the charge."""

from __future__ import annotations

from django.utils.translation import gettext as _

from jobs.steps.answers import COMMON_PRACTICE, Finding, Output, Tone, note, warning
from jobs.steps.context import StepContext
from jobs.steps.values import Values
from shopcool.engineering.errors import Refusal
from shopcool.engineering.quantities import Kind
from shopcool.engineering.static_pressure import StaticPressure, Verdict, static_pressure
from shopcool.vehicles.gas import fluid_of

#: Standard uncertainties [K]: a thermometer on the metal, and the air instead of it.
METAL_K, AIR_K = 1.0, 1.5
SHORTEST_REST_S = 1800.0
#: Gauge classes of service equipment allow about 1.6 % of 10 bar; twice that is no difference.
EQUAL_PA = 35_000.0
#: Gauge pressure below which nothing worth comparing with saturation is left [Pa].
LEFT_PA = 20_000.0

_TONES = {
    Verdict.CONSISTENT: Tone.GOOD,
    Verdict.EXTRA_GAS: Tone.WARNING,
    Verdict.NO_LIQUID: Tone.WARNING,
    Verdict.BASIS_MIX_UP: Tone.WARNING,
}


def standing(values: Values, context: StepContext) -> tuple[list[Finding], list[Output]]:
    """Return what a standing pressure says: liquid present, vapour only, extra gas, or gauge for absolute."""
    sentence = _("A standing pressure can show liquid, never that the charge is right or which gas it is.")
    findings = [note("static_limits", sentence, source=COMMON_PRACTICE), *_equalised(values)]
    if values.needed("high") - context.atmosphere_pa <= LEFT_PA:
        return findings, []
    fluid = fluid_of(context.case.facts.refrigerant)
    if fluid is None:
        unknown = _("The refrigerant is not known, so the pressure has nothing to be compared with.")
        return [*findings, note("gas_unknown", unknown)], []
    try:
        found = static_test(values, context)
    except Refusal as refusal:
        return [*findings, note(f"static_{refusal.code}", refusal.message)], []
    return [*findings, *_rest(values), _verdict(found, context)], _outputs(found, context)


def static_test(values: Values, context: StepContext) -> StaticPressure:
    """Return the pressure of a circuit at rest against saturation; raises Refusal when that says nothing."""
    fluid = fluid_of(context.case.facts.refrigerant)
    if fluid is None:
        raise Refusal("unknown_fluid", _("The refrigerant is not known."))
    metal = values.si("metal")
    return static_pressure(
        refrigerant=fluid,
        pressure_pa=values.needed("high"),
        temperature_k=values.needed("ambient") if metal is None else metal,
        temperature_uncertainty_k=AIR_K if metal is None else METAL_K,
        atmosphere_pa=context.atmosphere_pa,
    )


def _equalised(values: Values) -> list[Finding]:
    if abs(values.needed("high") - values.needed("low")) <= EQUAL_PA:
        return []
    sentence = _("High and low side differ: the pressures have not equalised, or a gauge is off.")
    return [warning("not_equalised", sentence, f"≤ {EQUAL_PA / 1000:g} kPa", COMMON_PRACTICE)]


def _rest(values: Values) -> list[Finding]:
    rested = values.si("rested")
    if rested is not None and rested < SHORTEST_REST_S:
        sentence = _("It ran a short while ago: repeat after hours of rest, at one temperature.")
        return [warning("not_rested", sentence, "≥ 30 min", COMMON_PRACTICE)]
    if values.has("metal"):
        return []
    sentence = _("Compared with the air: measure the metal near the liquid for a closer answer.")
    return [note("air_for_metal", sentence, source=COMMON_PRACTICE)]


def _verdict(found: StaticPressure, context: StepContext) -> Finding:
    saturation = context.shown(found.saturation_pressure_pa, Kind.PRESSURE)
    spread = context.shown(found.uncertainty_pa, Kind.PRESSURE_DIFFERENCE)
    limit = _("saturation %(saturation)s ± %(spread)s") % {"saturation": saturation, "spread": spread}
    sentence = _sentence(found)
    return Finding(f"static_{found.verdict.value}", _TONES[found.verdict], sentence, limit, found.source)


def _sentence(found: StaticPressure) -> str:
    return {
        Verdict.CONSISTENT: _(
            "Liquid present: the pressure is that of %(gas)s at this temperature. It does not tell how much."
        ),
        Verdict.EXTRA_GAS: _(
            "Above the saturation of %(gas)s: extra gas, air or another or mixed refrigerant. "
            "Use an identifier."
        ),
        Verdict.NO_LIQUID: _(
            "Below the saturation of %(gas)s: vapour only, no liquid left, or another refrigerant."
        ),
        Verdict.BASIS_MIX_UP: _(
            "Off the saturation of %(gas)s by about one atmosphere: gauge and absolute may be mixed up. "
            "Check that first, then the gas."
        ),
    }[found.verdict] % {"gas": found.refrigerant.value}


def _outputs(found: StaticPressure, context: StepContext) -> list[Output]:
    saturation = context.shown(found.saturation_pressure_pa, Kind.PRESSURE)
    difference = Kind.PRESSURE_DIFFERENCE
    excess = context.shown(found.excess_pa, difference)
    spread = context.shown(found.uncertainty_pa, difference)
    return [
        Output("saturation", _("Saturation"), found.saturation_pressure_pa, saturation, Kind.PRESSURE),
        Output(
            "static_excess",
            _("Above saturation"),
            found.excess_pa,
            f"{excess} ± {spread}",
            difference,
        ),
    ]
