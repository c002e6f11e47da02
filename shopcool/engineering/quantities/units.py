"""The units of each kind, their factors and the spellings that people type."""

from __future__ import annotations

from dataclasses import dataclass

from shopcool.engineering.errors import Refusal
from shopcool.engineering.quantities.kinds import Kind


@dataclass(frozen=True)
class Unit:
    """One unit: SI value = (value + offset) · factor; ``decimals`` is what a screen shows by itself.

    Below ``fine_below`` it shows one more where that is not a nought: a syringe is read to a tenth of a ml.
    """

    symbol: str
    factor: float
    decimals: int
    spellings: tuple[str, ...] = ()
    offset: float = 0.0
    fine_below: float = 0.0
    absolute: bool = False  # a vacuum gauge's unit: read as absolute pressure unless the text says otherwise


# Exact by definition, except the conventional inch of mercury (0 °C): NIST SP 811:2008, appendix B.
_PSI = 6894.757293168
_PRESSURE_UNITS = (
    Unit("bar", 1e5, 2, ("bars",)),
    Unit("kPa", 1e3, 0),
    Unit("MPa", 1e6, 3),
    Unit("psi", _PSI, 1, ("lb/in2", "lbf/in2", "lb/in²")),
    Unit("inHg", 3386.389, 1, ("in hg", '"hg', "in. hg", "inches hg")),
    Unit("mbar", 1e2, 1, ("millibar",), absolute=True),
    Unit("hPa", 1e2, 1, absolute=True),
    Unit(
        "micron",
        101325.0 / 760_000.0,
        0,
        ("microns", "mtorr", "µmhg", "µm hg", "um hg", "umhg"),
        absolute=True,
    ),
    Unit("Torr", 101325.0 / 760.0, 2, ("torr", "mmhg", "mm hg"), absolute=True),
    Unit("Pa", 1.0, 0, absolute=True),
)
_TEMPERATURE_SPELLINGS = {
    "°C": ("c", "degc", "deg c", "° c", "celsius"),
    "°F": ("f", "degf", "deg f", "° f", "fahrenheit"),
    "K": ("kelvin",),
}
_RPM_SPELLINGS = ("1/min", "/min", "min-1", "min⁻¹", "r/min", "u/min")

UNITS: dict[Kind, tuple[Unit, ...]] = {
    Kind.PRESSURE: _PRESSURE_UNITS,
    Kind.PRESSURE_DIFFERENCE: _PRESSURE_UNITS,
    Kind.TEMPERATURE: (
        Unit("°C", 1.0, 1, _TEMPERATURE_SPELLINGS["°C"], offset=273.15),
        Unit("°F", 5.0 / 9.0, 1, _TEMPERATURE_SPELLINGS["°F"], offset=459.67),
        Unit("K", 1.0, 1, _TEMPERATURE_SPELLINGS["K"]),
    ),
    Kind.TEMPERATURE_DIFFERENCE: (
        Unit("K", 1.0, 1, _TEMPERATURE_SPELLINGS["K"]),
        Unit("°C", 1.0, 1, _TEMPERATURE_SPELLINGS["°C"]),
        Unit("°F", 5.0 / 9.0, 1, _TEMPERATURE_SPELLINGS["°F"]),
    ),
    Kind.MASS: (
        Unit("g", 1e-3, 0, ("gram", "grams")),
        Unit("kg", 1.0, 3, ("kilogram", "kilograms", "kgs")),
        Unit("oz", 0.028349523125, 2, ("ounce", "ounces", "oz wt", "oz av")),
        Unit("lb", 0.45359237, 3, ("lbs", "pound", "pounds")),
        Unit("t", 1e3, 3, ("tonne", "tonnes")),
    ),
    Kind.VOLUME: (
        Unit("ml", 1e-6, 0, ("cm3", "cm³", "cc", "ccm", "millilitre", "milliliter"), fine_below=100.0),
        Unit("l", 1e-3, 3, ("litre", "litres", "liter", "liters", "dm3", "dm³")),
        Unit("US fl oz", 29.5735295625e-6, 2, ("us oz", "us floz", "fl oz us", "fl oz (us)", "us fl. oz.")),
        Unit(
            "imp fl oz", 28.4130625e-6, 2, ("imp oz", "imp floz", "fl oz imp", "fl oz (imp)", "imp fl. oz.")
        ),
        Unit("m³", 1.0, 6, ("m3",)),
    ),
    Kind.DENSITY: (
        Unit("g/ml", 1e3, 3, ("g/cm3", "g/cm³", "g/cc", "kg/l", "kg/dm3", "kg/dm³")),
        Unit("kg/m³", 1.0, 0, ("kg/m3",)),
    ),
    Kind.RESISTANCE: (
        Unit("Ω", 1.0, 0, ("ohm", "ohms")),
        Unit("kΩ", 1e3, 2, ("kohm", "kohms")),
        Unit("MΩ", 1e6, 2, ("Mohm", "Mohms", "MOhm", "megohm", "megohms")),
        Unit("GΩ", 1e9, 2, ("gohm", "gohms", "gigohm", "gigaohm")),
        Unit("TΩ", 1e12, 2, ("tohm", "teraohm")),
    ),
    Kind.VOLTAGE: (Unit("V", 1.0, 1, ("volt", "volts", "vdc", "v dc", "vac", "v ac")), Unit("kV", 1e3, 3)),
    Kind.LENGTH: (
        Unit("m", 1.0, 2, ("metre", "metres", "meter", "meters")),
        Unit("mm", 1e-3, 1),
        Unit("cm", 1e-2, 1),
        Unit("in", 0.0254, 2, ("inch", "inches", '"', "″")),
        Unit("ft", 0.3048, 2, ("foot", "feet", "′")),
    ),
    Kind.DURATION: (
        Unit("s", 1.0, 0, ("sec", "secs", "second", "seconds")),
        Unit("min", 60.0, 1, ("mins", "minute", "minutes")),
        Unit("h", 3600.0, 2, ("hr", "hrs", "hour", "hours")),
        Unit("d", 86_400.0, 1, ("day", "days")),
        Unit("y", 31_557_600.0, 2, ("yr", "year", "years")),
    ),
    Kind.FRACTION: (Unit("%", 1e-2, 1, ("percent", "per cent", "pct")), Unit("ppm", 1e-6, 0)),
    Kind.CURRENT: (
        Unit("mA", 1e-3, 3, ("milliamp", "milliamps")),
        Unit("A", 1.0, 2, ("amp", "amps")),
        Unit("µA", 1e-6, 1, ("ua", "microamp")),
    ),
    Kind.SPEED_RPM: (Unit("rpm", 1.0, 0, _RPM_SPELLINGS),),
}

_ASKED_OUNCES = frozenset(
    {"oz", "fl oz", "fl. oz.", "fl.oz.", "floz", "fl. oz", "ounce", "ounces", "fluid ounce"}
)
# Written small, milli and mega can't be told apart: nine powers of ten.
_ASKED_PREFIXES = {"mpa": "MPa", "mohm": "MΩ", "mohms": "MΩ", "mω": "MΩ"}


def units_of(kind: Kind) -> tuple[str, ...]:
    """Return the symbols of a kind's units, the customary one first."""
    return tuple(unit.symbol for unit in UNITS[kind])


def _exact_and_folded(kind: Kind) -> tuple[dict[str, Unit], dict[str, Unit]]:
    exact = {spelling: unit for unit in UNITS[kind] for spelling in (unit.symbol, *unit.spellings)}
    return exact, {spelling.casefold(): unit for spelling, unit in exact.items()}


_SPELLINGS = {kind: _exact_and_folded(kind) for kind in UNITS}


def unit_named(name: str, kind: Kind) -> Unit:
    """Return the unit that a spelling means for this kind.

    Raises ``ambiguous_ounce``, ``ambiguous_prefix`` or ``unknown_unit``, with the choices in the details.
    """
    spelling = " ".join(name.split())
    exact, folded = _SPELLINGS[kind]
    lowered = spelling.casefold()
    if kind is Kind.VOLUME and lowered in _ASKED_OUNCES:
        raise Refusal(
            "ambiguous_ounce",
            f"“{spelling}” is not one volume: write “US fl oz” (29.57 ml) or “imp fl oz” (28.41 ml). "
            "An ounce of weight belongs to a mass.",
            details={"choices": ["US fl oz", "imp fl oz"]},
        )
    if spelling in exact:
        return exact[spelling]
    if lowered in _ASKED_PREFIXES and spelling.startswith("m"):
        meant = _ASKED_PREFIXES[lowered]
        raise Refusal(
            "ambiguous_prefix",
            f"“{spelling}” with a small m is a thousandth: write “{meant}” with a capital M for a million.",
            details={"choices": [meant]},
        )
    if lowered in folded:
        return folded[lowered]
    symbols = units_of(kind)
    raise Refusal(
        "unknown_unit",
        f"“{spelling}” is not a unit known here: use one of {', '.join(symbols)}.",
        details={"choices": list(symbols)},
    )
