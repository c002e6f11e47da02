"""Insulation at another temperature: a rule of windings with its error, and where it does not hold."""

from __future__ import annotations

from dataclasses import dataclass

from shopcool.engineering.errors import Refusal
from shopcool.engineering.insulation.tester import check_resistance
from shopcool.engineering.limits import check_temperature
from shopcool.engineering.results import Notice

METHOD_VERSION = "insulation-temperature 1"
SOURCE = "Halving per 10 K, the rule of thumb of IEEE 43 for windings; spread from a guide's curve over 20 K"
HALVING_K = 10.0
LARGEST_STEP_K = 30.0
#: A guide's curve gives almost five times over 20 K where the rule gives four.
SPREAD_PER_20_K = 1.25
DEW_MARGIN_K = 3.0

POOL = Notice(
    "pool",
    "A rule for windings. Oil and liquid refrigerant in the compressor do not follow it: repeat warm "
    "instead.",
)


@dataclass(frozen=True)
class AtReference:
    """Resistance at a reference temperature [ohm] with the bounds of the rule [ohm]."""

    measured_ohm: float
    temperature_k: float
    reference_k: float
    resistance_ohm: float
    low_ohm: float
    high_ohm: float
    warnings: tuple[Notice, ...] = (POOL,)
    source: str = SOURCE
    method_version: str = METHOD_VERSION


def at_reference(
    measured_ohm: float, temperature_k: float, *, reference_k: float, dew_point_k: float | None = None
) -> AtReference:
    """Return an insulation resistance as the winding rule puts it at another temperature.

    Parameters:
        measured_ohm: resistance [ohm].
        temperature_k: temperature of the component [K].
        reference_k: temperature to compare at [K], at most 30 K away.
        dew_point_k: dew point of the air [K]; None when unknown.

    Returns: resistance at the reference temperature with bounds [ohm].

    Raises ``not_a_number``, ``resistance``, ``temperature``, ``far``, ``dew``.

    Source: IEEE 43-2013, rule of thumb for the temperature coefficient.
    """
    check_resistance(measured_ohm, "measured_ohm")
    check_temperature(temperature_k)
    check_temperature(reference_k, field="reference_k")
    if dew_point_k is not None:
        _check_dew(temperature_k, dew_point_k)
    step = reference_k - temperature_k
    if abs(step) > LARGEST_STEP_K:
        raise Refusal(
            "far",
            "More than 30 K from the reference temperature: the rule does not reach, repeat nearer.",
            field="temperature_k",
        )
    resistance = measured_ohm * 0.5 ** (step / HALVING_K)
    spread = SPREAD_PER_20_K ** (abs(step) / 20.0)
    return AtReference(
        measured_ohm=measured_ohm,
        temperature_k=temperature_k,
        reference_k=reference_k,
        resistance_ohm=resistance,
        low_ohm=resistance / spread,
        high_ohm=resistance * spread,
    )


def _check_dew(temperature_k: float, dew_point_k: float) -> None:
    check_temperature(dew_point_k, field="dew_point_k")
    if temperature_k < dew_point_k + DEW_MARGIN_K:
        raise Refusal(
            "dew",
            "The component is near or below the dew point: water on its surface is measured, not its "
            "insulation.",
            field="temperature_k",
        )
