"""What a service hose holds: bounds for liquid and vapour, and its volume by geometry or by weighing."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from shopcool.engineering import properties
from shopcool.engineering.errors import Refusal
from shopcool.engineering.limits import check_temperature, number, within
from shopcool.engineering.properties import Fluid, service_refrigerant
from shopcool.engineering.results import Notice
from shopcool.engineering.saturation import checked_uncertainty

METHOD_VERSION = "hose 1"
SOURCE = "Volume of a cylinder times density; GUM propagation (JCGM 100:2008), coverage factor 2"
COVERAGE = 2.0
LONGEST_M, WIDEST_M, NARROWEST_M = 30.0, 0.030, 0.5e-3
BORE_UNCERTAINTY_M, LENGTH_UNCERTAINTY_M = 0.1e-3, 0.01
LARGEST_HOSE_M3 = math.pi / 4 * WIDEST_M**2 * LONGEST_M
LARGEST_CHARGE_KG = 100.0
CAUTIONS = (
    Notice("fittings", "Couplers, filters and the manifold hold more; elastomer swells under pressure."),
    Notice(
        "after_closing", "Liquid left in the hose goes on boiling into the low side after the valve is shut."
    ),
    Notice("ledger", "What is recovered from the hose belongs to the books, not to the vehicle."),
)


class Phase(StrEnum):
    """What the hose is full of."""

    UNKNOWN = "unknown"
    LIQUID = "liquid"
    VAPOUR = "vapour"


class Basis(StrEnum):
    """Where a volume comes from; weighing beats geometry, for the bore decides and is badly known."""

    GEOMETRY = "geometry"
    WEIGHING = "weighing"


@dataclass(frozen=True)
class HoseVolume:
    """An inner volume [m³] with expanded uncertainty (k = 2) [m³]."""

    volume_m3: float
    uncertainty_m3: float
    basis: Basis
    source: str = SOURCE
    method_version: str = METHOD_VERSION


@dataclass(frozen=True)
class HoseContent:
    """What the hose holds [kg], full of liquid and full of vapour, with expanded uncertainty (k = 2) [kg].

    ``content_kg`` is None while the phase is unknown: the truth lies between the bounds. ``charge_error`` is
    the share of the charge that stays in a hose full of liquid when nobody corrects for it.
    """

    refrigerant: Fluid
    temperature_k: float
    pressure_pa: float
    phase: Phase
    volume: HoseVolume
    liquid_kg: float
    liquid_uncertainty_kg: float
    vapour_kg: float
    vapour_uncertainty_kg: float
    content_kg: float | None
    content_uncertainty_kg: float | None
    charge_error: float | None
    warnings: tuple[Notice, ...] = CAUTIONS
    source: str = SOURCE
    method_version: str = METHOD_VERSION


def hose_volume(
    *,
    bore_m: float,
    length_m: float,
    bore_uncertainty_m: float = BORE_UNCERTAINTY_M,
    length_uncertainty_m: float = LENGTH_UNCERTAINTY_M,
) -> HoseVolume:
    """Return the volume of a hose from its geometry.

    Parameters:
        bore_m: inner diameter [m], 0.5 to 30 mm.
        length_m: length [m], above 0 to 30.
        bore_uncertainty_m: standard uncertainty of the bore [m].
        length_uncertainty_m: standard uncertainty of the length [m].

    Returns: volume [m³] with expanded uncertainty (k = 2) [m³].

    Raises ``not_a_number``, ``bore``, ``length``, ``uncertainty``.

    Source: V = π/4 d² L; relative uncertainty √((2 u_d/d)² + (u_L/L)²).
    """
    bore = within(
        bore_m,
        NARROWEST_M,
        WIDEST_M,
        name="The bore",
        field="bore_m",
        code="bore",
        message="The bore of a service hose is 0.5 to 30 mm: is this the outer diameter, or another unit?",
    )
    length = within(
        length_m,
        1e-3,
        LONGEST_M,
        name="The length",
        field="length_m",
        code="length",
        message="A service hose is at most 30 m long: centimetres as metres?",
    )
    bore_u = checked_uncertainty(bore_uncertainty_m, bore / 2, field="bore_uncertainty_m")
    length_u = checked_uncertainty(length_uncertainty_m, length, field="length_uncertainty_m")
    volume = math.pi / 4 * bore**2 * length
    relative = math.hypot(2 * bore_u / bore, length_u / length)
    return HoseVolume(volume, COVERAGE * relative * volume, Basis.GEOMETRY)


def hose_volume_by_weighing(
    *, refrigerant: Fluid, temperature_k: float, retained_kg: Sequence[float], scale_uncertainty_kg: float
) -> HoseVolume:
    """Return the volume of a hose from what it kept when a known mass was charged through it.

    Parameters:
        refrigerant: what was charged, as liquid.
        temperature_k: of the hose [K], −40 to 80 °C.
        retained_kg: per trial, mass that left the source less mass that arrived [kg], one or more trials.
        scale_uncertainty_kg: standard uncertainty of one such difference [kg].

    Returns: volume [m³] with expanded uncertainty (k = 2) [m³].

    Raises ``not_a_number``, ``not_serviced``, ``few``, ``retained``, ``temperature``, ``above_Tc``,
    ``uncertainty``.

    Source: V = mean retained mass / liquid density; the larger of scale and scatter counts (JCGM 100:2008,
    4.2).
    """
    fluid = service_refrigerant(refrigerant)
    trials = tuple(_checked_retained(kg) for kg in retained_kg)
    if not trials:
        raise Refusal("few", "At least one weighing is needed.", field="retained_kg")
    scale = checked_uncertainty(scale_uncertainty_kg, 1.0, field="scale_uncertainty_kg")
    density = properties.saturated_density_kg_m3(fluid, check_temperature(temperature_k), quality=0.0)
    mean = math.fsum(trials) / len(trials)
    scatter = math.sqrt(math.fsum((kg - mean) ** 2 for kg in trials) / max(1, len(trials) - 1))
    uncertainty = max(scale, scatter) / math.sqrt(len(trials))
    if mean / density > LARGEST_HOSE_M3:
        raise Refusal(
            "retained", "No service hose holds that much: check unit and weighings.", field="retained_kg"
        )
    return HoseVolume(mean / density, COVERAGE * uncertainty / density, Basis.WEIGHING)


def hose_content(
    *,
    refrigerant: Fluid,
    volume: HoseVolume,
    temperature_k: float,
    pressure_pa: float | None = None,
    phase: Phase = Phase.UNKNOWN,
    charge_kg: float | None = None,
) -> HoseContent:
    """Return what a hose holds, full of liquid and full of vapour.

    Parameters:
        refrigerant: R-134a, R-1234yf, R-744 or R-152a.
        volume: of the hose, from :func:`hose_volume` or :func:`hose_volume_by_weighing`.
        temperature_k: of the hose [K], −40 to 80 °C.
        pressure_pa: absolute [Pa]; saturation when absent.
        phase: liquid or vapour when known.
        charge_kg: charge to be delivered [kg], for the error without correction.

    Returns: masses [kg] with expanded uncertainty (k = 2) [kg].

    Raises ``not_a_number``, ``not_serviced``, ``temperature``, ``above_Tc``, ``phase``, ``p_range``,
    ``charge``.

    Source: density of the refrigerant's equation of state times the volume.
    """
    fluid = service_refrigerant(refrigerant)
    temperature = check_temperature(temperature_k)
    boiling = properties.saturation_pressure_pa(fluid, temperature)
    pressure = (
        boiling if pressure_pa is None else number(pressure_pa, name="The pressure", field="pressure_pa")
    )
    _check_phase(phase, pressure, boiling, temperature)
    liquid = _density(fluid, max(pressure, boiling), boiling, temperature, quality=0.0)
    vapour = _density(fluid, min(pressure, boiling), boiling, temperature, quality=1.0)
    known = {Phase.LIQUID: liquid, Phase.VAPOUR: vapour}.get(phase)
    return HoseContent(
        refrigerant=fluid,
        temperature_k=temperature,
        pressure_pa=pressure,
        phase=phase,
        volume=volume,
        liquid_kg=liquid * volume.volume_m3,
        liquid_uncertainty_kg=liquid * volume.uncertainty_m3,
        vapour_kg=vapour * volume.volume_m3,
        vapour_uncertainty_kg=vapour * volume.uncertainty_m3,
        content_kg=None if known is None else known * volume.volume_m3,
        content_uncertainty_kg=None if known is None else known * volume.uncertainty_m3,
        charge_error=_charge_error(liquid * volume.volume_m3, charge_kg),
    )


def _density(
    fluid: Fluid, pressure_pa: float, boiling_pa: float, temperature_k: float, *, quality: float
) -> float:
    if pressure_pa == boiling_pa:
        return properties.saturated_density_kg_m3(fluid, temperature_k, quality=quality)
    return properties.state_pt(fluid, pressure_pa, temperature_k, quality_on_line=quality).density_kg_m3


def _check_phase(phase: Phase, pressure_pa: float, boiling_pa: float, temperature_k: float) -> None:
    where = f"At {temperature_k - 273.15:.0f} °C and {pressure_pa / 1e5:.2f} bar abs"
    if phase is Phase.LIQUID and pressure_pa < boiling_pa:
        raise Refusal("phase", f"{where} it is vapour, not liquid.", field="phase")
    if phase is Phase.VAPOUR and pressure_pa > boiling_pa:
        raise Refusal("phase", f"{where} it is liquid, not vapour.", field="phase")


def _checked_retained(kg: float) -> float:
    return within(
        kg,
        0.0,
        LARGEST_CHARGE_KG,
        name="A retained mass",
        field="retained_kg",
        code="retained",
        message="A hose can't keep less than nothing or more than 100 kg: check the order of the weighings.",
    )


def _charge_error(liquid_kg: float, charge_kg: float | None) -> float | None:
    if charge_kg is None:
        return None
    charge = within(
        charge_kg,
        1e-3,
        LARGEST_CHARGE_KG,
        name="The charge",
        field="charge_kg",
        code="charge",
        message="A charge lies between 1 g and 100 kg: check the unit.",
    )
    return liquid_kg / charge
