"""The legal floors of a whole vehicle, shown as what they are: no limit for one compressor."""

from __future__ import annotations

from django.utils.translation import gettext as _

from jobs.steps.answers import Finding, Output, note, refusal, warning
from jobs.steps.context import StepContext
from jobs.steps.insulation.tester import ohms
from shopcool.engineering.insulation import Bus, floor
from shopcool.engineering.quantities import Quantity

SOURCE = "UN R100 5.1.3; 49 CFR 571.305 S5.3 (500 Ω/V for DC without isolation monitoring)"


def floor_findings(reading: Quantity, context: StepContext) -> list[Finding]:
    """Return how a reading stands to both floors; only a value below them says something."""
    if context.working_voltage_v is None or reading.comparator == ">":
        return []
    direct, coupled = _floors(context.working_voltage_v)
    if reading.si < direct:
        sentence = _("Below even the floor of the whole vehicle: do not switch it on.")
        return [refusal("below_vehicle_floor", sentence, f"≥ {ohms(direct)}", SOURCE)]
    if reading.si < coupled:
        sentence = _("Below the floor of a whole vehicle whose buses are AC or connected.")
        return [warning("below_coupled_floor", sentence, f"≥ {ohms(coupled)}", SOURCE)]
    sentence = _("Above the legal floor of the whole vehicle, which is no limit for one compressor.")
    return [note("above_vehicle_floor", sentence, f"≥ {ohms(coupled)}", SOURCE)]


def floor_outputs(context: StepContext) -> tuple[Output, ...]:
    """Return the floors of both kinds of bus in words, none without a working voltage."""
    if context.working_voltage_v is None:
        return ()
    direct, coupled = _floors(context.working_voltage_v)
    text = _(
        "%(direct)s (DC bus, 100 Ω/V) or %(coupled)s (AC or connected buses, 500 Ω/V) at %(working)g V, "
        "%(source)s; not a limit for one compressor"
    )
    words = {
        "direct": ohms(direct),
        "coupled": ohms(coupled),
        "working": context.working_voltage_v,
        "source": SOURCE,
    }
    return (Output("vehicle_floor", _("Legal floor of the whole vehicle"), coupled, text % words),)


def _floors(working_v: float) -> tuple[float, float]:
    return floor(working_v, Bus.DC).resistance_ohm, floor(working_v, Bus.AC_OR_COUPLED).resistance_ohm
