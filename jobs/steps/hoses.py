"""What stays in the service hoses when a charge ends, as typed: weighed, or reckoned from length and bore."""

from __future__ import annotations

from jobs.steps.values import Values
from shopcool.engineering.hose import HoseContent, HoseVolume, Phase, hose_content, hose_volume
from shopcool.vehicles.choices import Refrigerant
from shopcool.vehicles.gas import serviced_fluid_of

BY_MACHINE, TYPED, COMPUTED, NOT_KNOWN = "BY_MACHINE", "TYPED", "COMPUTED", "NOT_KNOWN"
#: The density of the liquid is taken at this temperature [K]; 10 K change it by 3 %.
HOSE_TEMPERATURE_K = 298.15


def full_of_liquid(volume: HoseVolume, refrigerant: Refrigerant) -> HoseContent | None:
    """Return what a volume full of liquid holds, None for a gas whose density is not known here."""
    fluid = serviced_fluid_of(refrigerant)
    if fluid is None:
        return None
    return hose_content(
        refrigerant=fluid, volume=volume, temperature_k=HOSE_TEMPERATURE_K, phase=Phase.LIQUID
    )


def typed_content(values: Values, refrigerant: Refrigerant) -> HoseContent | None:
    """Return what hoses full of liquid hold by the length and bore in the step, None unless typed.

    Raises Refusal with ``bore`` or ``length`` for hoses that no shop has.
    """
    length, bore = values.si("hose_length"), values.si("hose_bore")
    if values.text("hoses") != COMPUTED or length is None or bore is None:
        return None
    return full_of_liquid(hose_volume(bore_m=bore, length_m=length), refrigerant)


def typed_kept_kg(values: Values, refrigerant: Refrigerant) -> float:
    """Return what the hoses keep by what was typed [kg]; 0 where the machine adds it or nobody knows."""
    content = typed_content(values, refrigerant)
    return content.liquid_kg if content else values.si("hose_content", 0.0)
