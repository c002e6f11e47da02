"""What is shown beside an insulation reading and decides nothing: absorption ratios, another temperature."""

from __future__ import annotations

from django.utils.translation import gettext as _

from jobs.errors import ValuesInvalid
from jobs.steps.answers import Finding, Output, note
from jobs.steps.insulation.tester import ohms
from jobs.steps.values import Values
from shopcool.engineering.errors import Refusal
from shopcool.engineering.insulation import AtReference, InsulationClass, Ratios, at_reference, ratios
from shopcool.engineering.insulation.ratios import SOURCE as RATIO_SOURCE

#: The temperature at which readings of a workshop are best compared [K].
REFERENCE_K = 293.15
_FIELDS = ("after_30_s", "after_60_s", "after_600_s")


def shown_only(values: Values) -> list[Finding]:
    """Return what the shown values are worth; nothing where none is shown."""
    found = []
    if values.yes("followed"):
        result = _ratios(values)
        if result is None:
            sentence = _("A reading beyond the tester's range gives no ratio.")
        else:
            sentence = _(
                "Ratios are made for the dry windings of larger motors; oil and refrigerant in a compressor "
                "do not follow them. They pass and condemn nothing."
            )
        found.append(note("ratios_shown_only", sentence, source=result.source if result else RATIO_SOURCE))
    reference = _reference(values)
    if reference is not None:
        sentence = _(
            "The value at 20 °C follows a rule for windings, half per 10 K; oil and liquid refrigerant don't "
            "follow it. The verdict rests on the reading itself: to compare, repeat at the same temperature."
        )
        found.append(note("reference_shown_only", sentence, source=reference.source))
    return found


def ratio_outputs(values: Values) -> tuple[Output, ...]:
    """Return the absorption ratio and the polarisation index, as far as they were measured."""
    result = _ratios(values) if values.yes("followed") else None
    if result is None:
        return ()
    found = [_plain("absorption", _("One minute over 30 s"), result.absorption_ratio)]
    if result.polarisation_index is not None:
        found.append(_plain("polarisation", _("Ten minutes over one"), result.polarisation_index))
    return tuple(found)


def reference_outputs(values: Values) -> tuple[Output, ...]:
    """Return what the rule of windings makes of the reading at 20 °C, with its bounds."""
    found = _reference(values)
    if found is None:
        return ()
    text = _("%(low)s to %(high)s") % {"low": ohms(found.low_ohm), "high": ohms(found.high_ohm)}
    return (Output("at_reference", _("At 20 °C, by rule"), found.resistance_ohm, text),)


def _ratios(values: Values) -> Ratios | None:
    """Return the ratios, None when a reading is a limit only. Raises ValuesInvalid beside its field."""
    readings = [values.quantity(name) for name in _FIELDS]
    if any(reading is not None and reading.comparator for reading in readings):
        return None
    first, second, last = (reading.si if reading else None for reading in readings)
    if first is None or second is None:
        return None
    try:
        return ratios(first, second, last, insulation_class=InsulationClass.F)
    except Refusal as error:
        raise ValuesInvalid({error.field.removesuffix("_ohm"): [error.message]}) from error


def _reference(values: Values) -> AtReference | None:
    """Return the reading at 20 °C, None when it is a limit, has no temperature or lies too far away."""
    reading, temperature = values.quantity("resistance"), values.si("temperature")
    if reading is None or reading.comparator or temperature is None or abs(temperature - REFERENCE_K) < 1.0:
        return None
    try:
        return at_reference(reading.si, temperature, reference_k=REFERENCE_K)
    except Refusal:
        return None


def _plain(name: str, label: str, value: float) -> Output:
    return Output(name, label, value, f"{value:.2f}")
