"""What the page of a vehicle says about a circuit: labelled facts, in the reader's units."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from django.utils.translation import gettext as _

from shopcool.core.actors import Actor
from shopcool.engineering.quantities import Kind
from shopcool.engineering.results import Notice
from shopcool.shop.models import Shop
from shopcool.shop.units import Units
from shopcool.vehicles.choices import Drive, Lubricant, Metering, Refrigerant
from shopcool.vehicles.models import Circuit, CircuitEntry
from shopcool.vehicles.notices import Missing
from shopcool.vehicles.panels import Panel, panels_of
from shopcool.vehicles.selectors import CircuitSheet, VehicleSheet

Fact = tuple[str, str | None, str]
AT_MOST = 8


@dataclass(frozen=True)
class Entered:
    """One line of the history of a circuit: who entered what, and when."""

    at: datetime
    title: str
    text: str
    who: str
    kind: str = "plain"


@dataclass(frozen=True)
class CircuitPage:
    """One circuit on the page of its vehicle."""

    circuit: Circuit
    facts: list[Fact]
    notices: list[Notice]
    missing: list[Missing]
    entered: list[Entered]
    panels: list[Panel]

    @property
    def oil_rule(self) -> list[str]:
        """The statements of the vehicle maker's rule for the oil, as they were entered."""
        return [line.strip() for line in self.circuit.oil_rule.splitlines() if line.strip()]


def circuit_pages(sheet: VehicleSheet, actor: Actor, shop: Shop, units: Units) -> list[CircuitPage]:
    """Return the circuits of a vehicle as its page shows them, with what other packages add."""
    panels = panels_of(actor, [one.circuit for one in sheet.circuits], units)
    return [_circuit_page(one, panels[one.circuit.pk], shop, units) for one in sheet.circuits]


def _circuit_page(sheet: CircuitSheet, panels: list[Panel], shop: Shop, units: Units) -> CircuitPage:
    return CircuitPage(
        circuit=sheet.circuit,
        facts=circuit_facts(sheet.circuit, shop, units),
        notices=sheet.notices,
        missing=sheet.missing,
        entered=_history(sheet.entries),
        panels=panels,
    )


def circuit_facts(circuit: Circuit, shop: Shop, units: Units) -> list[Fact]:
    """Return the facts of a circuit, each with its value, None where unknown, and how it was entered."""
    return [
        (_("Compressor drive"), str(Drive(circuit.drive).label), ""),
        (_("Refrigerant"), _known(Refrigerant, circuit.refrigerant), ""),
        (_("Label charge"), *_charge(circuit, units)),
        (_("Oil class"), _known(Lubricant, circuit.lubricant), circuit.lubricant_grade),
        (_("Oil in the circuit"), _shown(circuit.oil_m3, Kind.VOLUME, units), _typed(circuit.oil_typed)),
        *_high_voltage(circuit, shop, units),
        (_("Expansion device"), _known(Metering, circuit.metering), ""),
        (_("Where the data comes from"), circuit.label_source or None, ""),
        *_maker_rules(circuit, units),
    ]


def _maker_rules(circuit: Circuit, units: Units) -> list[Fact]:
    """Return what the vehicle maker asks of equipment and leak search; nothing where nobody entered any."""
    pressure = _shown(circuit.search_pressure_pa, Kind.PRESSURE, units)
    temperature = _shown(circuit.search_temperature_k, Kind.TEMPERATURE, units)
    told = [
        _("no dye") if circuit.no_dye else "",
        _("dedicated hoses") if circuit.dedicated_hoses else "",
        _("leak search from %(pressure)s on") % {"pressure": pressure} if pressure else "",
        _("leak search from %(temperature)s on") % {"temperature": temperature} if temperature else "",
    ]
    words = "; ".join(word for word in told if word)
    return [(_("The vehicle maker asks for"), words, circuit.maker_source)] if words else []


def _charge(circuit: Circuit, units: Units) -> tuple[str | None, str]:
    charge = _shown(circuit.charge_kg, Kind.MASS, units)
    tolerance = _shown(circuit.tolerance_kg, Kind.MASS, units)
    value = f"{charge} ± {tolerance}" if charge and tolerance else charge
    return value, _typed(circuit.charge_typed)


def _high_voltage(circuit: Circuit, shop: Shop, units: Units) -> list[Fact]:
    if not circuit.is_high_voltage:
        return []
    minutes = circuit.high_voltage_wait_minutes
    wait = _("%(minutes)d min") % {"minutes": minutes} if minutes is not None else None
    own_wait = _("the shop's own %(minutes)d min hold") % {"minutes": shop.high_voltage_wait_minutes}
    return [
        (_("Working voltage"), _shown(circuit.working_voltage_v, Kind.VOLTAGE, units), ""),
        (_("Wait after shut-down"), wait, "" if wait else own_wait),
    ]


def _shown(si: float | None, kind: Kind, units: Units) -> str | None:
    return None if si is None else units.shown(si, kind)


def _typed(text: str) -> str:
    return _("entered as %(text)s") % {"text": text} if text else ""


def _known(choices: type[Refrigerant] | type[Lubricant] | type[Metering], value: str) -> str | None:
    return None if value == choices.UNKNOWN else str(choices(value).label)


def _history(entries: list[CircuitEntry]) -> list[Entered]:
    """Return what each entry changed against the one before, newest first."""
    lines = []
    for entry, earlier in zip(entries, [*entries[1:], None], strict=False):
        title = _("Label data changed") if earlier else _("Label data entered")
        text = "; ".join(_changes(earlier.values if earlier else {}, entry.values))
        lines.append(Entered(entry.recorded_at, title, text, entry.recorded_by_name))
    return lines[:AT_MOST]


def _yes(value: object) -> str:
    return _("yes") if value else _("no")


_IN_WORDS: dict[str, tuple[Callable[[], str], Callable[[str], str]]] = {
    "drive": (lambda: _("drive"), lambda value: str(Drive(value).label)),
    "refrigerant": (lambda: _("refrigerant"), lambda value: str(Refrigerant(value).label)),
    "charge_typed": (lambda: _("charge"), str),
    "lubricant": (lambda: _("oil"), lambda value: str(Lubricant(value).label)),
    "lubricant_grade": (lambda: _("grade"), str),
    "oil_typed": (lambda: _("oil amount"), str),
    "working_voltage_v": (lambda: _("voltage"), lambda value: f"{float(value):g} V"),
    "high_voltage_wait_minutes": (lambda: _("wait"), lambda value: f"{value} min"),
    "label_source": (lambda: _("source"), str),
    "oil_rule": (lambda: _("oil rule"), lambda value: ", ".join(value.splitlines())),
    "no_dye": (lambda: _("no dye"), _yes),
    "dedicated_hoses": (lambda: _("dedicated hoses"), _yes),
    "search_pressure_typed": (lambda: _("leak search pressure"), str),
    "search_temperature_typed": (lambda: _("leak search temperature"), str),
    "maker_source": (lambda: _("maker's source"), str),
}


def _changes(before: dict[str, object], after: dict[str, object]) -> list[str]:
    changes = []
    for column, (word, spoken) in _IN_WORDS.items():
        value = after.get(column)
        if value != before.get(column) and (before or value):
            changes.append(f"{word()} {spoken(str(value)) if value else _('unknown')}")
    return changes
