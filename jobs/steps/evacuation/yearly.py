"""The largest leak a hold allows, in grams a year of this refrigerant: a range, because two laws differ."""

from __future__ import annotations

from django.utils.translation import gettext as _

from jobs.steps.answers import Output
from jobs.steps.context import StepContext
from jobs.steps.fields import ASSUMED_VOLUME_M3
from jobs.steps.values import Values
from shopcool.engineering import properties
from shopcool.engineering.errors import Refusal
from shopcool.engineering.vacuum_hold import VacuumHold, leak_range
from shopcool.vehicles.gas import serviced_fluid_of


def bound_outputs(values: Values, hold: VacuumHold, context: StepContext) -> tuple[Output, ...]:
    """Return the bound in grams a year, none for a gas that is not known."""
    fluid = serviced_fluid_of(context.case.facts.refrigerant)
    if fluid is None:
        return ()
    temperature = hold.readings.temperature_k
    try:
        bound = leak_range(
            hold.rate_high_pa_s,
            volume_m3=values.si("volume", ASSUMED_VOLUME_M3),
            refrigerant=fluid,
            temperature_k=temperature,
            system_pressure_pa=properties.saturation_pressure_pa(fluid, temperature),
            atmosphere_pa=context.atmosphere_pa,
        )
    except Refusal:
        return ()
    text = _("%(low)s to %(high)s g/year of %(gas)s at standing pressure, by the law of flow; %(volume)s")
    words = {
        "low": _grams(bound.low_kg_year),
        "high": _grams(bound.high_kg_year),
        "gas": fluid.value,
        "volume": _volume(values),
    }
    return (Output("largest_leak", _("No leak larger than"), bound.high_kg_year, text % words),)


def _volume(values: Values) -> str:
    litres = f"{values.si('volume', ASSUMED_VOLUME_M3) * 1e3:g}"
    if values.has("volume"):
        return _("volume %(litres)s litres") % {"litres": litres}
    return _("volume assumed to be %(litres)s litres") % {"litres": litres}


def _grams(kilograms: float) -> str:
    return f"{kilograms * 1e3:,.2g}" if kilograms < 0.1 else f"{round(kilograms * 1e3, -1):,.0f}"
