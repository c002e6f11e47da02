"""The diagnosis, asked with plain options."""

from __future__ import annotations

from collections.abc import Sequence

from shopcool.engineering.diagnosis import (
    Conditions,
    Diagnosis,
    Drive,
    Measured,
    Metering,
    Mode,
    Observations,
    Sign,
    diagnose,
)


def diagnosis(
    *,
    drive: Drive,
    metering: Metering,
    mode: Mode = Mode.CABIN_COOLING,
    condensing_k: float | None = None,
    evaporating_k: float | None = None,
    vent_k: float | None = None,
    superheat_k: float | None = None,
    subcooling_k: float | None = None,
    ratio: float | None = None,
    charge_share: float | None = None,
    ambient_k: float | None = None,
    steady_s: float = 0.0,
    uncertainty_k: float = 1.0,
    present: Sequence[Sign] = (),
    absent: Sequence[Sign] = (),
) -> Diagnosis:
    """Rank what may be wrong, with evidence for and against and the next measurement.

    Parameters:
        drive: what moves the compressor.
        metering: what meters the refrigerant.
        mode: what the system was doing.
        condensing_k: condensing temperature [K], or exit of the gas cooler.
        evaporating_k: evaporating temperature [K].
        vent_k: air from the vents [K].
        superheat_k: superheat [K].
        subcooling_k: subcooling [K].
        ratio: of the absolute pressures [-].
        charge_share: recovered over label charge [-].
        ambient_k: air before the condenser [K].
        steady_s: how long the system had run alike [s].
        uncertainty_k: standard uncertainty of every temperature and difference [K].
        present: observations that were made.
        absent: observations that were looked for and not found.

    Returns: the causes in order, each with its evidence.

    Raises the refusals of :func:`shopcool.engineering.diagnosis.diagnose`.
    """

    def measured(value: float | None, standard: float = uncertainty_k) -> Measured | None:
        return None if value is None else Measured(value, standard)

    seen = Observations(
        condensing_k=measured(condensing_k),
        evaporating_k=measured(evaporating_k),
        vent_k=measured(vent_k),
        superheat_k=measured(superheat_k),
        subcooling_k=measured(subcooling_k),
        ratio=measured(ratio, 0.05 * (ratio or 1.0)),
        charge_share=measured(charge_share, 0.02),
        signs=dict.fromkeys(present, True) | dict.fromkeys(absent, False),
    )
    return diagnose(
        seen, Conditions(mode=mode, drive=drive, metering=metering, ambient_k=ambient_k, steady_s=steady_s)
    )
