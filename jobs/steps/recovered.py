"""What a pull took out: as the machine shows it, or by the scale of its tank before and after."""

from __future__ import annotations

from dataclasses import replace

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from jobs.errors import ValuesInvalid
from jobs.steps.answers import Finding, Output, warning
from jobs.steps.context import StepContext
from jobs.steps.fields import FieldSpec, Scale, Text, mass, quantity
from jobs.steps.values import Values
from shopcool.engineering.quantities import Kind

#: How near a machine's own figure is to what it took in [kg].
RECOVERED_ACCURACY_KG = 0.030
MOST_IN_A_CIRCUIT_KG = 30.0
MOST_IN_A_TANK_KG = 500.0


def _tank(name: str, label: Text) -> FieldSpec:
    sentence = gettext_lazy("No tank of a workshop holds more than 500 kg: check number and unit.")
    field = quantity(name, label, Kind.MASS, limits=(0.0, MOST_IN_A_TANK_KG), sentence=sentence)
    return replace(field, scale=Scale.CYLINDER).optional()


FIELDS = (
    mass(
        "mass",
        gettext_lazy("Recovered refrigerant"),
        help=gettext_lazy("As the machine shows it, or leave it empty and weigh the tank."),
    ).optional(),
    _tank("tank_start", gettext_lazy("Tank before")),
    _tank("tank_end", gettext_lazy("Tank after")),
)


def recovered_kg(values: Values) -> float:
    """Return what a recorded pull took out [kg], first of all as the machine showed it."""
    shown = values.si("mass")
    return (_gain_kg(values) or 0.0) if shown is None else shown


def check_weighing(values: Values) -> None:
    """Refuse a pull that nobody weighed, or whose tank was weighed by half. Raises ValuesInvalid."""
    for name, other in (("tank_start", "tank_end"), ("tank_end", "tank_start")):
        if values.has(other) and not values.has(name):
            raise ValuesInvalid({name: [_("A tank is weighed before and after the pull.")]})
    gain = _gain_kg(values)
    if gain is None and not values.has("mass"):
        raise ValuesInvalid({"mass": [_("Type what the machine shows, or the tank before and after.")]})
    if gain is not None and gain < 0.0:
        raise ValuesInvalid({"tank_end": [_("The tank holds less than before the pull.")]})
    if gain is not None and gain > MOST_IN_A_CIRCUIT_KG:
        sentence = _("No vehicle holds more than 30 kg of refrigerant: check number and unit.")
        raise ValuesInvalid({"tank_end": [sentence]})


def weighing_findings(values: Values, context: StepContext) -> list[Finding]:
    """Return that tank and machine disagree; nothing where only one of them was read."""
    gain, shown = _gain_kg(values), values.si("mass")
    if gain is None or shown is None or abs(gain - shown) <= RECOVERED_ACCURACY_KG:
        return []
    sentence = _("The tank gained %(gain)s, the machine shows %(shown)s: check its scale before the charge.")
    words = {"gain": context.shown(gain, Kind.MASS), "shown": context.shown(shown, Kind.MASS)}
    limit = f"± {context.shown(RECOVERED_ACCURACY_KG, Kind.MASS)}"
    return [warning("tank_differs", sentence % words, limit, _SOURCE)]


def weighing_outputs(values: Values, context: StepContext) -> tuple[Output, ...]:
    """Return what the tank gained; nothing where it was not weighed."""
    gain = _gain_kg(values)
    if gain is None:
        return ()
    return (Output("tank_gain", _("The tank gained"), gain, context.shown(gain, Kind.MASS), Kind.MASS),)


_SOURCE = "SAE J2788 section 7.1.3: recovered weight within 30 g"


def _gain_kg(values: Values) -> float | None:
    start, end = values.si("tank_start"), values.si("tank_end")
    return None if start is None or end is None else end - start
