"""The test conditions in which a diagnosis means something."""

from __future__ import annotations

from collections.abc import Iterator

from shopcool.engineering.diagnosis.causes import Sign
from shopcool.engineering.diagnosis.observations import Conditions, Metering, Mode, Observations, Port
from shopcool.engineering.errors import Refusal
from shopcool.engineering.limits import check_temperature, within
from shopcool.engineering.results import Notice

COLDEST_AMBIENT_K = 288.15
SHORTEST_STEADY_S = 300.0


def check_conditions(conditions: Conditions) -> None:
    """Refuse conditions in which readings can't be graded.

    Raises ``mode``, ``cold``, ``not_steady``, ``conditions``, ``temperature``, ``not_a_number``.
    """
    _check_mode(conditions.mode)
    if conditions.ambient_k is not None:
        check_temperature(conditions.ambient_k, field="ambient_k")
        if conditions.ambient_k < COLDEST_AMBIENT_K:
            raise Refusal(
                "cold",
                "Below 15 °C ambient running pressures tell little: warm the workshop or judge by weight.",
                field="ambient_k",
            )
    within(
        conditions.steady_s,
        SHORTEST_STEADY_S,
        86_400.0,
        name="The time in steady running",
        field="steady_s",
        code="not_steady",
        message="Readings count after at least 5 minutes of steady running.",
    )
    _check_switches(conditions)


def _check_mode(mode: Mode) -> None:
    if mode is Mode.UNKNOWN:
        raise Refusal(
            "mode",
            "Say first whether cabin, battery or heat pump is running: the mode decides which exchanger "
            "condenses.",
            field="mode",
        )
    if mode is Mode.HEAT_PUMP:
        raise Refusal(
            "mode",
            "In heat-pump mode the outer exchanger evaporates and these rules don't hold: switch to cooling.",
            field="mode",
        )


def _check_switches(conditions: Conditions) -> None:
    wanted = {
        "open the doors": conditions.doors_open,
        "set the blower to maximum": conditions.blower_at_maximum,
        "select recirculation": conditions.recirculating,
    }
    missing = [action for action, done in wanted.items() if done is False]
    if missing and not conditions.reduced_load_repeat:
        raise Refusal("conditions", f"Repeat in the conditions of the test: {', '.join(missing)}.")


def condition_notices(seen: Observations, conditions: Conditions) -> Iterator[Notice]:
    """Yield what limits this diagnosis."""
    yield Notice("weigh", "Pressures never decide about adding refrigerant: recover and weigh.")
    if conditions.ambient_k is None:
        yield Notice("no_ambient", "Measure the ambient temperature: without it the high side says little.")
    if conditions.drive.is_controlled:
        yield Notice("controlled", "The compressor's control holds the low side and can hide a fault.")
    if conditions.metering is not Metering.EXPANSION_VALVE:
        yield Notice("metering", "Superheat and subcooling mean less with this kind of expansion device.")
    if conditions.mode is Mode.BATTERY_COOLING:
        yield Notice("battery", "Battery cooling: the vent temperature is not used.")
    if conditions.port is Port.AT_ACCUMULATOR:
        yield Notice("port", "The low-side port at the accumulator can miss the low side of a restriction.")
    if seen.signs.get(Sign.PRESSURES_EQUAL):
        yield Notice("at_rest", "Equal pressures: nothing is pumped, so running readings are not graded.")
    if seen.signs.get(Sign.LOW_SIDE_IN_VACUUM):
        yield Notice("nearly_empty", "A nearly empty circuit can look alike: recover and weigh first.")
