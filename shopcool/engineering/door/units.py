"""What the ending of a name says about its unit."""

from __future__ import annotations

from shopcool.engineering.quantities import Kind

# Longest ending first. Kinds can be typed and shown in other units; the rest is shown as it is.
KINDS: dict[str, Kind] = {
    "pa": Kind.PRESSURE,
    "k": Kind.TEMPERATURE,
    "kg": Kind.MASS,
    "m3": Kind.VOLUME,
    "m": Kind.LENGTH,
    "s": Kind.DURATION,
    "ohm": Kind.RESISTANCE,
    "v": Kind.VOLTAGE,
    "a": Kind.CURRENT,
    "share": Kind.FRACTION,
}
# Unit on the screen and what one SI unit is worth in it.
COMPOUND_UNITS: dict[str, tuple[str, float]] = {
    "pa_m3_s": ("Pa·m³/s", 1.0),
    "k_per_pa": ("K/bar", 1e5),
    "j_kg_k": ("kJ/(kg·K)", 1e-3),
    "kg_year": ("g/year", 1e3),
    "kg_m3": ("kg/m³", 1.0),
    "kg_l": ("kg/l", 1.0),
    "j_kg": ("kJ/kg", 1e-3),
    "pa_s": ("Pa/min", 60.0),
    "ml": ("ml", 1.0),
    "years": ("years", 1.0),
}
_DIFFERENCES = {
    Kind.PRESSURE: Kind.PRESSURE_DIFFERENCE,
    Kind.TEMPERATURE: Kind.TEMPERATURE_DIFFERENCE,
}
_WORDS_OF_DIFFERENCES = frozenset(
    {
        "approach",
        "change",
        "depth",
        "difference",
        "excess",
        "loss",
        "noise",
        "resolution",
        "rise",
        "smallest",
        "spread",
        "standard",
        "step",
        "subcooling",
        "superheat",
        "uncertainty",
    }
)


def compound_unit(name: str) -> str:
    """Return the compound ending of a name, such as ``kg_m3``, or nothing."""
    return next((ending for ending in COMPOUND_UNITS if name.endswith(f"_{ending}")), "")


def split_unit(name: str) -> tuple[str, Kind | None]:
    """Return a name without the ending of its unit, and the kind of quantity that the ending means."""
    compound = compound_unit(name)
    if compound:
        return name.removesuffix(f"_{compound}"), None
    stem, _, ending = name.rpartition("_")
    kind = KINDS.get(ending) if stem else None
    if kind is None:
        return name, None
    if ending == "share":
        return name, kind
    if kind in _DIFFERENCES and not _WORDS_OF_DIFFERENCES.isdisjoint(stem.split("_")):
        kind = _DIFFERENCES[kind]
    return stem, kind
