"""A hold read on a needle gauge that counts down from the local air pressure: a gross check only."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from shopcool.engineering.limits import within
from shopcool.engineering.quantities import checked_atmosphere_pa
from shopcool.engineering.results import Notice

METHOD_VERSION = "needle-hold 1"
SOURCE = (
    "Absolute pressure is the local air pressure less the depth of vacuum; the limit is the caller's rule"
)
DEEPEST_READING_PA = 200_000.0
FINEST_STEP_PA, COARSEST_STEP_PA = 1.0, 50_000.0
SHORTEST_S, LONGEST_S = 60.0, 7 * 86_400.0


class NeedleVerdict(StrEnum):
    """What a needle gauge can say about a vacuum."""

    INSTRUMENT_IMPOSSIBLE = "instrument_impossible"
    GROSS_RISE = "gross_rise"
    NO_GROSS_RISE = "no_gross_rise"


SENTENCES = {
    NeedleVerdict.INSTRUMENT_IMPOSSIBLE: (
        "The gauge shows a deeper vacuum than the local air pressure allows: a fault or zero error of the "
        "gauge, or a wrong altitude. Nothing can be concluded from it."
    ),
    NeedleVerdict.GROSS_RISE: "The vacuum was lost faster than allowed: a gross leak, or much moisture.",
    NeedleVerdict.NO_GROSS_RISE: (
        "No gross leak. A needle gauge can't show dryness and can't see a small leak: use a vacuum gauge "
        "that resolves a few pascal."
    ),
}


@dataclass(frozen=True)
class NeedleHold:
    """A needle hold: depths below the local air pressure [Pa], absolute pressures [Pa], largest rise [Pa/s].

    The absolute pressures are None where the instrument is impossible.
    """

    first_depth_pa: float
    last_depth_pa: float
    duration_s: float
    atmosphere_pa: float
    resolution_pa: float
    allowed_loss_pa: float
    verdict: NeedleVerdict
    sentence: str
    first_pressure_pa: float | None
    last_pressure_pa: float | None
    rate_high_pa_s: float | None
    warnings: tuple[Notice, ...]
    source: str = SOURCE
    method_version: str = METHOD_VERSION


def needle_hold(
    first_depth_pa: float,
    last_depth_pa: float,
    *,
    duration_s: float,
    atmosphere_pa: float,
    resolution_pa: float,
    allowed_loss_pa: float,
) -> NeedleHold:
    """Judge two readings of a needle gauge as the gross check they are.

    Parameters:
        first_depth_pa: depth of vacuum below the air pressure at the start [Pa].
        last_depth_pa: depth of vacuum below the air pressure at the end [Pa].
        duration_s: time between the readings [s], 1 minute to 7 days.
        atmosphere_pa: air pressure at the site [Pa].
        resolution_pa: smallest step that can be read [Pa].
        allowed_loss_pa: loss of vacuum that the applied rule allows [Pa].

    Returns: verdict with absolute pressures [Pa] and the largest rise [Pa/s].

    Raises ``not_a_number``, ``p_atm``, ``depth``, ``resolution``, ``allowed``, ``duration``.

    Source: the caller's rule; absolute pressure is air pressure less depth.
    """
    checked_atmosphere_pa(atmosphere_pa)
    depths = {"first_depth_pa": first_depth_pa, "last_depth_pa": last_depth_pa}
    _check(depths, duration_s, resolution_pa, allowed_loss_pa)
    loss = first_depth_pa - last_depth_pa
    impossible = max(first_depth_pa, last_depth_pa) > atmosphere_pa
    verdict = NeedleVerdict.INSTRUMENT_IMPOSSIBLE if impossible else _verdict(loss, allowed_loss_pa)
    return NeedleHold(
        first_depth_pa=first_depth_pa,
        last_depth_pa=last_depth_pa,
        duration_s=duration_s,
        atmosphere_pa=atmosphere_pa,
        resolution_pa=resolution_pa,
        allowed_loss_pa=allowed_loss_pa,
        verdict=verdict,
        sentence=SENTENCES[verdict],
        first_pressure_pa=None if impossible else atmosphere_pa - first_depth_pa,
        last_pressure_pa=None if impossible else atmosphere_pa - last_depth_pa,
        rate_high_pa_s=None if impossible else max(loss + resolution_pa, 0.0) / duration_s,
        warnings=(Notice("gross_check", "Passing this check proves little: it is a gross check only."),),
    )


def _verdict(loss: float, allowed: float) -> NeedleVerdict:
    return NeedleVerdict.GROSS_RISE if loss > allowed else NeedleVerdict.NO_GROSS_RISE


def _check(depths: dict[str, float], duration: float, resolution: float, allowed: float) -> None:
    for field, depth in depths.items():
        within(
            depth,
            0,
            DEEPEST_READING_PA,
            name="The depth of vacuum",
            field=field,
            code="depth",
            message="The depth of vacuum must be between 0 and 2 bar below the air pressure.",
        )
    within(
        resolution,
        FINEST_STEP_PA,
        COARSEST_STEP_PA,
        name="The smallest step of the gauge",
        field="resolution_pa",
        code="resolution",
        message="The smallest step of a needle gauge must be between 0.01 and 500 mbar.",
    )
    within(
        allowed,
        0,
        COARSEST_STEP_PA,
        name="The allowed loss",
        field="allowed_loss_pa",
        code="allowed",
        message="The allowed loss must be between 0 and 500 mbar.",
    )
    within(
        duration,
        SHORTEST_S,
        LONGEST_S,
        name="The duration",
        field="duration_s",
        code="duration",
        message="The hold must last between 1 minute and 7 days.",
    )
