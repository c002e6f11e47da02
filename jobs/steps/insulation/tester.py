"""The insulation tester: whether it held its voltage, what it delivered, what it could still prove."""

from __future__ import annotations

from django.utils.translation import gettext as _

from jobs.steps.answers import COMMON_PRACTICE, Finding, Output, note, refusal
from jobs.steps.values import Values
from shopcool.engineering.errors import Refusal
from shopcool.engineering.insulation import Tester, loaded_tester
from shopcool.engineering.insulation.tester import NOMINAL_SHARE, RATED_CURRENT_A
from shopcool.engineering.quantities import Quantity


def is_loaded(values: Values) -> bool:
    """Whether a fault pulled the tester below what counts as its nominal voltage."""
    actual = values.si("actual_voltage")
    return actual is not None and actual < NOMINAL_SHARE * values.needed("nominal_voltage")


def tester_findings(values: Values) -> list[Finding]:
    """Return what the voltage under the reading says about the fault, and about the tester."""
    nominal, actual = values.needed("nominal_voltage"), values.si("actual_voltage")
    if actual is None:
        sentence = _("The voltage under the reading was not recorded: a loaded tester can't be told.")
        return [note("actual_voltage_missing", sentence)]
    if not is_loaded(values):
        return []
    sentence = _(
        "The tester fell to %(actual)g of %(nominal)g V: a fault was found, "
        "and the value does not hold at the nominal voltage."
    )
    numbers = {"actual": actual, "nominal": nominal}
    limit = f"≥ {NOMINAL_SHARE * nominal:g} V"
    found = [refusal("tester_loaded", sentence % numbers, limit, COMMON_PRACTICE)]
    tester = _seen(values)
    return found if tester is None else [*found, _reach(tester)]


def tester_outputs(values: Values) -> tuple[Output, ...]:
    """Return the current that flowed, and what a collapsing tester can deliver and hold."""
    tester = _seen(values) if is_loaded(values) else None
    if tester is None:
        return ()
    least = tester.smallest_at_nominal_ohm
    return (
        _current("current", _("Current that flowed"), tester.current_a),
        _current("short_circuit", _("Most the tester delivers"), tester.short_circuit_a),
        Output(
            "holds_above",
            _("Holds its voltage only above"),
            least,
            _("never") if least is None else ohms(least),
        ),
    )


def ohms(resistance: float) -> str:
    """Return a resistance [Ω] in the unit that people say."""
    if resistance < 1e6:
        return f"{resistance / 1e3:.3g} kΩ"
    return f"{resistance / 1e6:.3g} MΩ" if resistance < 1e9 else f"{resistance / 1e9:.3g} GΩ"


def said(reading: Quantity) -> str:
    """Return a reading [Ω] as people say it: no more digits than a tester has, ``> 550 MΩ``, ``OL``."""
    if reading.over_range and not reading.si:
        return "OL"
    return f"{reading.comparator} {ohms(reading.si)}".strip()


def _seen(values: Values) -> Tester | None:
    """Return the tester as the loaded reading shows it, None when that reading is only a limit."""
    reading = values.quantity("resistance")
    if reading is None or reading.comparator:
        return None
    nominal = values.needed("nominal_voltage")
    try:
        return loaded_tester(
            values.si("open_voltage", nominal),
            values.needed("actual_voltage"),
            reading.si,
            nominal_voltage_v=nominal,
        )
    except Refusal:
        return None


def _reach(tester: Tester) -> Finding:
    least = tester.smallest_at_nominal_ohm
    words = {
        "current": _milliampere(tester.rated_current_a),
        "load": ohms(tester.rated_ohm),
        "least": "" if least is None else ohms(least),
    }
    if least is None:
        sentence = _("This tester never holds its nominal voltage: nothing it shows is a value at it.")
    elif tester.rated_current_a < RATED_CURRENT_A:
        sentence = _(
            "It delivers %(current)s into %(load)s, not the 1 mA of the standard, and holds its voltage only "
            "above %(least)s: below that it finds faults, but proves no value."
        )
    else:
        sentence = _("It holds its voltage above %(least)s: below that it finds faults, but proves no value.")
    return note("tester_reach", sentence % words, "≥ 1 mA", tester.source)


def _current(name: str, label: str, ampere: float) -> Output:
    return Output(name, label, ampere, _milliampere(ampere))


def _milliampere(ampere: float) -> str:
    return f"{ampere * 1e3:.2f} mA"
