"""Absorption ratios of a winding: shown, never decisive."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from shopcool.engineering.errors import Refusal
from shopcool.engineering.insulation.tester import check_resistance
from shopcool.engineering.results import Notice

METHOD_VERSION = "insulation-ratios 1"
SOURCE = "Polarisation index minima of IEEE 43 (secondary source); absorption ratio bands of motor guidance"
#: Above this resistance after one minute the index means nothing (IEEE 43-2013, from memory).
INDEX_LIMIT_OHM = 5e9


class InsulationClass(StrEnum):
    """Thermal class of the winding's insulation."""

    A = "A"
    B = "B"
    F = "F"
    H = "H"


MINIMUM_INDEX = {
    InsulationClass.A: 1.5,
    InsulationClass.B: 2.0,
    InsulationClass.F: 2.0,
    InsulationClass.H: 2.0,
}
#: Lower bounds of the bands of the absorption ratio; "good" reaches to 1.6 and includes it.
ABSORPTION_BANDS = (
    (math.nextafter(1.6, 2.0), "excellent"),
    (1.4, "good"),
    (1.25, "fair"),
    (1.1, "questionable"),
    (0.0, "poor"),
)
SHOWN_ONLY = Notice(
    "shown_only", "Made for larger motors without liquid inside: shown for the record, decides nothing."
)


@dataclass(frozen=True)
class Ratios:
    """Absorption ratio R60/R30 [-] with its band, polarisation index R600/R60 [-] with its minimum [-]."""

    after_30_s_ohm: float
    after_60_s_ohm: float
    after_600_s_ohm: float | None
    absorption_ratio: float
    absorption_band: str
    polarisation_index: float | None
    minimum_index: float
    warnings: tuple[Notice, ...] = (SHOWN_ONLY,)
    source: str = SOURCE
    method_version: str = METHOD_VERSION


def ratios(
    after_30_s_ohm: float,
    after_60_s_ohm: float,
    after_600_s_ohm: float | None = None,
    *,
    insulation_class: InsulationClass,
) -> Ratios:
    """Return the absorption ratio and the polarisation index of a winding.

    Parameters:
        after_30_s_ohm: resistance after 30 s [ohm].
        after_60_s_ohm: resistance after 60 s [ohm].
        after_600_s_ohm: resistance after 10 minutes [ohm]; None when not measured.
        insulation_class: thermal class, for the minimum of the index.

    Returns: both ratios [-], shown for the record.

    Raises ``not_a_number``, ``resistance``, ``pi_na``.

    Source: IEEE 43, minima 1.5 for class A and 2.0 for B, F and H.
    """
    check_resistance(after_30_s_ohm, "after_30_s_ohm")
    check_resistance(after_60_s_ohm, "after_60_s_ohm")
    index = None
    if after_600_s_ohm is not None:
        check_resistance(after_600_s_ohm, "after_600_s_ohm")
        if after_60_s_ohm > INDEX_LIMIT_OHM:
            raise Refusal(
                "pi_na",
                "Above 5 gigaohm after one minute the polarisation index means nothing: leave it out.",
                field="after_600_s_ohm",
            )
        index = after_600_s_ohm / after_60_s_ohm
    absorption = after_60_s_ohm / after_30_s_ohm
    return Ratios(
        after_30_s_ohm=after_30_s_ohm,
        after_60_s_ohm=after_60_s_ohm,
        after_600_s_ohm=after_600_s_ohm,
        absorption_ratio=absorption,
        absorption_band=next(band for least, band in ABSORPTION_BANDS if absorption >= least),
        polarisation_index=index,
        minimum_index=MINIMUM_INDEX[insulation_class],
    )
