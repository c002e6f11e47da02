"""The same car measured twice: what is typed in metric and in US units, and what the record must say.

Factors are those of NIST SP 811:2008, appendix B: 1 psi = 6894.757 Pa, 1 oz = 28.349523 g,
1 US fl oz = 29.57353 ml, 1 inHg (0 °C) = 3386.389 Pa, 1 micron = 0.1333224 Pa; °F = 1.8 °C + 32.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

Typed = dict[str, str]


@dataclass(frozen=True)
class Figures:
    """The units a technician chooses, and what they type into each step without naming a unit."""

    person: str
    units: Typed
    purge: Typed
    before: Typed
    recovery: Typed
    evacuation: Typed
    charge: Typed
    after: Typed
    said: tuple[str, ...]


METRIC = Figures(
    person="anneke",
    units={"pressure": "bar", "temperature": "°C", "mass": "g", "volume": "ml"},
    purge={"circulated": "600", "duration": "7", "final_vacuum": "12"},
    before={"low": "4,9", "high": "4.9", "ambient": "20"},
    recovery={"mass": "481", "ambient": "20", "oil_end": "6"},
    evacuation={"start": "0.9", "end": "1,2"},
    charge={"mass": "550"},
    after={"low": "2,1", "high": "13.7", "ambient": "22", "suction": "12", "liquid": "42", "vent": "7"},
    said=("550 g ± 20 g entered as 550 ± 20 g", "Absolute pressure, bar", "kJ/kg"),
)
US = Figures(
    person="tomasz",
    units={"pressure": "psi", "temperature": "°F", "mass": "oz", "volume": "US fl oz"},
    purge={"circulated": "21.16", "duration": "7", "final_vacuum": "29.55"},
    before={"low": "71.07", "high": "71.07", "ambient": "68"},
    recovery={"mass": "16.97", "ambient": "68", "oil_end": "0.2"},
    evacuation={"start": "675", "end": "900"},
    charge={"mass": "19.40"},
    after={
        "low": "30.46",
        "high": "198.7",
        "ambient": "71.6",
        "suction": "53.6",
        "liquid": "107.6",
        "vent": "44.6",
    },
    said=("19.40 oz ± 0.71 oz entered as 550 ± 20 g", "Absolute pressure, psi", "Btu/lb"),
)


@dataclass(frozen=True)
class Unit:
    """A unit as the record prints it, and its meaning in the unit that both runs are compared in."""

    printed: str
    meaning: Callable[[float], float]


def _times(printed: str, factor: float) -> Unit:
    return Unit(printed, lambda number: number * factor)


KILOPASCAL = [_times("bar(g)", 100.0), _times("psi(g)", 6.894757)]
FINE_PASCAL = [_times("mbar", 100.0), _times("micron", 0.1333224)]
CELSIUS = [_times("°C", 1.0), Unit("°F", lambda number: (number - 32.0) / 1.8)]
GRAM = [_times("g", 1.0), _times("oz", 28.349523)]
MILLILITRE = [_times("ml", 1.0), _times("US fl oz", 29.57353)]

#: What both records must say, wherever they say it, and by how much their last printed digit may differ.
EXPECTED: list[tuple[str, list[Unit], tuple[float, ...], float]] = [
    ("Mass circulated", GRAM, (600.0,), 0.5),
    ("Recovered refrigerant", GRAM, (481.0,), 0.5),
    ("Recovered", GRAM, (481.0,), 0.5),
    ("Recovered oil", MILLILITRE, (6.0,), 0.5),
    ("Charged refrigerant", GRAM, (550.0,), 0.5),
    ("In the circuit", GRAM, (550.0,), 0.5),
    ("Low side", KILOPASCAL, (490.0, 210.0), 0.6),
    ("When the pump was shut off", FINE_PASCAL, (90.0,), 5.0),
    ("At the end of the hold", FINE_PASCAL, (120.0,), 5.0),
    ("Air temperature", CELSIUS, (20.0, 22.0), 0.06),
    ("Suction line at the compressor", CELSIUS, (12.0,), 0.06),
    ("Liquid line", CELSIUS, (42.0,), 0.06),
    ("Vent temperature", CELSIUS, (7.0,), 0.06),
    # R-1234yf at 13.7 bar above the air condenses at 55.2 °C (Lemmon and Akasaka 2022, as CoolProp has it).
    ("High side condenses at", CELSIUS, (55.2,), 0.06),
]
#: A figure and its unit stand this close behind their label.
NEAR = 60


def read_back(text: str, label: str, unit: Unit) -> list[float]:
    """Return what a record says in a unit behind a label, wherever it says it, in the compared unit."""
    number = re.compile(rf"(-?\d+(?:[.,]\d+)?) {re.escape(unit.printed)}(?![\w/(])")
    places = [found.end() for found in re.finditer(rf"(?<![\w-]){re.escape(label)} (?=[-\d])", text)]
    matches = [number.search(text[place : place + NEAR]) for place in places]
    return [unit.meaning(float(match[1].replace(",", "."))) for match in matches if match]
