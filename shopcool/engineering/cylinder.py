"""How much a refillable cylinder may hold, and at which temperature it would be full of liquid."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from shopcool.engineering import properties
from shopcool.engineering.errors import Refusal
from shopcool.engineering.limits import within
from shopcool.engineering.properties import Fluid, service_refrigerant
from shopcool.engineering.results import Notice

METHOD_VERSION = "cylinder 1"
SOURCE = (
    "80 % of the water capacity times liquid density at 25 °C (AHRI Guideline K worked example, trade "
    "reproduction); 95 % full at 50 °C and not full below 60 °C (transport rule 4.3.3.2.2, written for "
    "tanks)"
)
FILL_SHARE, FILL_TEMPERATURE_K = 0.80, 298.15
HOT_SHARE, HOT_TEMPERATURE_K = 0.95, 323.15
FULL_TEMPERATURE_K = 333.15
SMALLEST_M3, LARGEST_M3 = 0.2e-3, 1.0
LOWEST_FILLING_KG_L, HIGHEST_FILLING_KG_L = 0.3, 0.85
LARGEST_TARE_KG, LARGEST_CONTENT_KG = 500.0, 1500.0
CAUTIONS = (
    Notice(
        "water_capacity",
        "Water capacity is stamped in litres or kilograms of water; it is not the refrigerant weight.",
    ),
    Notice(
        "by_weight",
        "Fill by weight, never by a level gauge. Check tare with valve, and the requalification date.",
    ),
    Notice(
        "mixed", "Oil or mixed gas makes the density unknown: use the lowest density of what may be in it."
    ),
    Notice(
        "disposable",
        "A non-refillable cylinder is never filled. A flammable gas needs its own marked cylinder.",
    ),
)


class Verdict(StrEnum):
    """Where the content stands."""

    MAY_TAKE = "may_take"
    FULL = "full"
    OVERFULL = "overfull"
    NO_CONTENT_GIVEN = "no_content_given"


SENTENCES = {
    Verdict.MAY_TAKE: "The cylinder may take what is shown as free.",
    Verdict.FULL: "The cylinder is full: nothing more may go in.",
    Verdict.OVERFULL: (
        "The cylinder is overfull: danger, do not heat or move it. Take the excess out by licensed practice."
    ),
    Verdict.NO_CONTENT_GIVEN: "The most this cylinder may hold.",
}


@dataclass(frozen=True)
class Cylinder:
    """The limits of a cylinder [kg], what is free [kg], and when it would be full of liquid [K].

    ``deciding_rule`` names the limit that decides. ``liquid_full_temperature_k`` is None for R-744 and when
    nothing but the critical temperature ends the liquid.
    """

    refrigerant: Fluid
    water_capacity_m3: float
    tare_kg: float
    content_kg: float | None
    maximum_content_kg: float
    maximum_gross_kg: float
    deciding_rule: str
    verdict: Verdict
    sentence: str
    free_kg: float | None
    liquid_full_temperature_k: float | None
    warnings: tuple[Notice, ...] = CAUTIONS
    source: str = SOURCE
    method_version: str = METHOD_VERSION


def cylinder(
    *,
    refrigerant: Fluid,
    water_capacity_m3: float,
    tare_kg: float,
    content_kg: float | None = None,
    filling_ratio_kg_l: float | None = None,
) -> Cylinder:
    """Return how much a refillable cylinder may hold.

    Parameters:
        refrigerant: R-134a, R-1234yf, R-744 or R-152a.
        water_capacity_m3: stamped water capacity [m³] (1 l of water = 1 kg), 0.2 l to 1 m³.
        tare_kg: empty weight with valve [kg].
        content_kg: refrigerant in it now [kg], if known.
        filling_ratio_kg_l: stamped filling ratio [kg/l]; needed for R-744, which may have no liquid level.

    Returns: largest content and gross weight [kg], what is free [kg], and the temperature [K] at which the
    present content (or the largest one) would fill the cylinder with liquid.

    Raises ``not_a_number``, ``not_serviced``, ``V``, ``tare``, ``content``, ``R744_ratio``.

    Source: see :data:`SOURCE`; local codes and the stamps of the cylinder come first.
    """
    fluid = service_refrigerant(refrigerant)
    volume = _checked_volume(water_capacity_m3)
    tare = _checked_mass(tare_kg, LARGEST_TARE_KG, "The tare", "tare_kg", "tare")
    content = (
        None
        if content_kg is None
        else _checked_mass(content_kg, LARGEST_CONTENT_KG, "The content", "content_kg", "content")
    )
    rule, density = _deciding_limit(fluid, filling_ratio_kg_l)
    maximum = density * volume
    verdict = _verdict(content, maximum)
    present = maximum if content is None else content
    return Cylinder(
        refrigerant=fluid,
        water_capacity_m3=volume,
        tare_kg=tare,
        content_kg=content,
        maximum_content_kg=maximum,
        maximum_gross_kg=maximum + tare,
        deciding_rule=rule,
        verdict=verdict,
        sentence=SENTENCES[verdict],
        free_kg=None if content is None else max(0.0, maximum - content),
        liquid_full_temperature_k=liquid_full_temperature_k(fluid, present / volume),
    )


def liquid_full_temperature_k(fluid: Fluid, filling_kg_m3: float) -> float | None:
    """Return the temperature [K] at which liquid fills the whole volume.

    ``filling_kg_m3`` is content by volume [kg/m³]. None means that the content never fills it with liquid: it
    is less than the critical density, or the refrigerant is R-744, whose liquid ends at 31 °C.

    Raises ``liquid_full`` when the volume is full of liquid already at −40 °C.
    """
    if fluid is Fluid.R744:
        return None
    cold, warm = 233.15, properties.critical_temperature_k(fluid) - 0.01
    if filling_kg_m3 <= properties.saturated_density_kg_m3(fluid, warm, quality=0.0):
        return None
    if filling_kg_m3 >= properties.saturated_density_kg_m3(fluid, cold, quality=0.0):
        raise Refusal(
            "liquid_full", "So much liquid does not fit even at −40 °C: check content and water capacity."
        )
    while warm - cold > 1e-4:
        middle = (cold + warm) / 2.0
        if properties.saturated_density_kg_m3(fluid, middle, quality=0.0) > filling_kg_m3:
            cold = middle
        else:
            warm = middle
    return (cold + warm) / 2.0


def limits_kg_m3(fluid: Fluid) -> dict[str, float]:
    """Return the three limits of content by volume [kg/m³], by the name of their rule."""
    at = {
        kelvin: properties.saturated_density_kg_m3(fluid, kelvin, quality=0.0)
        for kelvin in (FILL_TEMPERATURE_K, HOT_TEMPERATURE_K, FULL_TEMPERATURE_K)
    }
    return {
        "80 % full at 25 °C": FILL_SHARE * at[FILL_TEMPERATURE_K],
        "95 % full at 50 °C": HOT_SHARE * at[HOT_TEMPERATURE_K],
        "full at 60 °C": at[FULL_TEMPERATURE_K],
    }


def _deciding_limit(fluid: Fluid, filling_ratio_kg_l: float | None) -> tuple[str, float]:
    """Return the smallest limit: name and content by volume [kg/m³]."""
    limits = {} if fluid is Fluid.R744 else limits_kg_m3(fluid)
    if filling_ratio_kg_l is not None:
        ratio = within(
            filling_ratio_kg_l,
            LOWEST_FILLING_KG_L,
            2.0 * HIGHEST_FILLING_KG_L,
            name="The filling ratio",
            field="filling_ratio_kg_l",
            code="R744_ratio",
            message="A stamped filling ratio lies between 0.3 and 1.7 kg/l.",
        )
        limits["stamped filling ratio"] = 1000.0 * ratio
    if (
        fluid is Fluid.R744
        and not 0.0 < limits.get("stamped filling ratio", 0.0) <= 1000.0 * HIGHEST_FILLING_KG_L
    ):
        raise Refusal(
            "R744_ratio",
            "R-744 has no liquid level above 31 °C: give the stamped filling ratio of its cylinder (0.3 to "
            "0.85 kg/l).",
            field="filling_ratio_kg_l",
        )
    return min(limits.items(), key=lambda limit: limit[1])


def _verdict(content_kg: float | None, maximum_kg: float) -> Verdict:
    if content_kg is None:
        return Verdict.NO_CONTENT_GIVEN
    if content_kg > maximum_kg:
        return Verdict.OVERFULL
    return Verdict.FULL if content_kg == maximum_kg else Verdict.MAY_TAKE


def _checked_volume(volume_m3: float) -> float:
    return within(
        volume_m3,
        SMALLEST_M3,
        LARGEST_M3,
        name="The water capacity",
        field="water_capacity_m3",
        code="V",
        message="The water capacity must be between 0.2 l and 1 m³: litres or kilograms of water, "
        "not refrigerant weight.",
    )


def _checked_mass(value: float, largest: float, name: str, field: str, code: str) -> float:
    return within(
        value,
        0.0,
        largest,
        name=name,
        field=field,
        code=code,
        message=f"{name} must be between 0 and {largest:g} kg.",
    )
