"""A hold under nitrogen: what the temperature explains, what is gone, and the smallest leak it could see."""

from __future__ import annotations

import math

from django.utils.translation import gettext as _

from jobs.errors import ValuesInvalid
from jobs.procedure import Outcome
from jobs.steps.answers import COMMON_PRACTICE, Answer, Finding, Output, good, note, refusal, warning
from jobs.steps.context import StepContext
from jobs.steps.fields import ASSUMED_VOLUME_M3
from jobs.steps.values import Values
from shopcool.engineering.errors import Refusal
from shopcool.engineering.pressure_hold import (
    HIGHEST_START_PA,
    SOURCE,
    Loss,
    PressureHold,
    Verdict,
    pressure_hold,
    smallest_visible_loss,
)
from shopcool.engineering.properties import saturation_pressure_pa
from shopcool.engineering.quantities import Kind
from shopcool.vehicles.gas import fluid_of

USUAL_STEP_PA = 10_000.0
#: How far a temperature on the metal may be from that of the gas [K] (common practice).
TEMPERATURE_ERROR_K = 1.0
#: At this temperature the charged circuit is compared [K].
SYSTEM_K = 293.15

_FIELDS = {
    "first_pressure_pa": "hold_start",
    "first_temperature_k": "hold_start_temperature",
    "last_pressure_pa": "hold_end",
    "last_temperature_k": "hold_end_temperature",
    "duration_s": "hold_time",
    "highest_allowed_pa": "highest",
    "pressure_uncertainty_pa": "gauge_step",
}


def hold_answer(values: Values, context: StepContext) -> Answer:
    """Return whether more pressure is gone than the temperature explains; never that there is no leak."""
    if not context.case.gauges_are_on:
        raise ValuesInvalid({"method": [_("Nothing with gauges is on the vehicle: connect it first.")]})
    hold = _hold(values, context)
    smallest = _smallest(hold, values, context)
    findings = (_verdict(hold, context), *_limit(values), *_what_would_change(hold, smallest), _afterwards())
    outcome = {
        Verdict.TIGHT_WITHIN: Outcome.NO_LEAK_FOUND,
        Verdict.LOSS: Outcome.LEAK_FOUND,
        Verdict.GAIN: Outcome.NO_VERDICT,
    }[hold.verdict]
    satisfied = hold.verdict is not Verdict.GAIN
    return Answer(outcome, satisfied, findings, _outputs(hold, smallest, context))


def _hold(values: Values, context: StepContext) -> PressureHold:
    highest = values.si("highest")
    if highest is not None and not values.text("maker_document"):
        raise ValuesInvalid({"maker_document": [_("Say where the vehicle maker's pressure stands.")]})
    end = values.needed("hold_end")
    if highest is not None and end > highest:
        raise ValuesInvalid({"hold_end": [_over(highest, context)]})
    try:
        return pressure_hold(
            values.needed("hold_start"),
            values.needed("hold_start_temperature"),
            end,
            values.needed("hold_end_temperature"),
            duration_s=values.needed("hold_time"),
            highest_allowed_pa=HIGHEST_START_PA if highest is None else highest,
            # A reading lies anywhere within its step, a temperature within its error: GUM 4.3.7.
            pressure_uncertainty_pa=values.si("gauge_step", USUAL_STEP_PA) / math.sqrt(12),
            temperature_uncertainty_k=TEMPERATURE_ERROR_K / math.sqrt(3),
        )
    except Refusal as error:
        sentence = error.message
        if error.code == "over_limit" and highest is not None:
            sentence = _over(highest, context)
        raise ValuesInvalid({_FIELDS.get(error.field, "hold_start"): [sentence]}) from error


def _over(highest: float, context: StepContext) -> str:
    sentence = _("This is above the vehicle maker's %(highest)s: vent at once, slowly, down to it.")
    return sentence % {"highest": context.shown(highest, Kind.PRESSURE)}


def _smallest(hold: PressureHold, values: Values, context: StepContext) -> Loss | None:
    """Return the smallest leak that the readings could have shown, None for an unknown refrigerant."""
    refrigerant = fluid_of(context.case.facts.refrigerant)
    if refrigerant is None:
        return None
    return smallest_visible_loss(
        hold,
        volume_m3=values.si("volume", ASSUMED_VOLUME_M3),
        refrigerant=refrigerant,
        system_pressure_pa=saturation_pressure_pa(refrigerant, SYSTEM_K),
        atmosphere_pa=context.atmosphere_pa,
    )


def _verdict(hold: PressureHold, context: StepContext) -> Finding:
    words = {
        "lost": context.shown(abs(hold.loss_pa), Kind.PRESSURE_DIFFERENCE),
        "error": context.shown(hold.uncertainty_pa, Kind.PRESSURE_DIFFERENCE),
    }
    limit = _("± %(error)s for these readings") % words
    if hold.verdict is Verdict.LOSS:
        sentence = _(
            "%(lost)s more is gone than the temperature explains: the circuit or the hoses leak. Search with "
            "foam or trace gas, the hose connections first."
        )
        return warning("pressure_lost", sentence % words, limit, SOURCE)
    if hold.verdict is Verdict.GAIN:
        sentence = _(
            "%(lost)s more is there than the temperature explains: the valve of the supply is not shut, or "
            "the temperature was not that of the gas. Settle and hold again."
        )
        return refusal("pressure_gained", sentence % words, limit, SOURCE)
    sentence = _(
        "No gross leak: the pressure agrees with the temperature. Smaller leaks stay unseen, so this is not "
        "“no leak”."
    )
    return good("no_gross_leak", sentence, limit, SOURCE)


def _limit(values: Values) -> list[Finding]:
    if values.has("highest"):
        return []
    sentence = _(
        "The vehicle maker's highest test pressure is not on record: stay below what the weakest part of the "
        "low side may hold."
    )
    return [warning("highest_pressure_unknown", sentence, source=COMMON_PRACTICE)]


def _what_would_change(hold: PressureHold, smallest: Loss | None) -> list[Finding]:
    if hold.verdict is not Verdict.TIGHT_WITHIN:
        return []
    sentence = _(
        "Ten times as long shows a leak a tenth as large; so does a finer gauge, once the temperature is "
        "known better than to %(kelvin)g K."
    ) % {"kelvin": TEMPERATURE_ERROR_K}
    if smallest is not None:
        sentence += " " + _("A leak that a detector finds, a few grams a year, never shows here.")
    return [note("what_would_change", sentence, source="GUM (JCGM 100:2008) 4.3.7, coverage factor 2")]


def _afterwards() -> Finding:
    sentence = _(
        "Vent the nitrogen before anything else: it must not reach a machine's tank or a cylinder. Then "
        "evacuate."
    )
    return note("vent_nitrogen", sentence, source=COMMON_PRACTICE)


def _outputs(hold: PressureHold, smallest: Loss | None, context: StepContext) -> tuple[Output, ...]:
    found = [
        _pressure("expected", _("Expected at the end"), hold.expected_pressure_pa, context),
        _pressure("measured", _("Measured at the end"), hold.last_pressure_pa, context),
        Output(
            "lost",
            _("Gone beyond temperature"),
            hold.loss_pa,
            context.shown(hold.loss_pa, Kind.PRESSURE_DIFFERENCE),
            Kind.PRESSURE_DIFFERENCE,
        ),
    ]
    if smallest is not None:
        text = _("%(low)s to %(high)s of %(gas)s a year, by the kind of leak") % {
            "low": _kilograms(smallest.low_kg_year),
            "high": _kilograms(smallest.high_kg_year),
            "gas": context.case.facts.refrigerant.label,
        }
        found.append(Output("smallest", _("Smallest leak this could show"), smallest.low_kg_year, text))
    return tuple(found)


def _pressure(name: str, label: str, pressure_pa: float, context: StepContext) -> Output:
    return Output(name, label, pressure_pa, context.shown(pressure_pa, Kind.PRESSURE), Kind.PRESSURE, "gauge")


def _kilograms(kg: float) -> str:
    return _("%(mass).0f g") % {"mass": kg * 1e3} if kg < 1 else _("%(mass).1f kg") % {"mass": kg}
