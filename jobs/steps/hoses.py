"""What stays in the service hoses when a charge ends: weighed once, or reckoned from length and bore."""

from __future__ import annotations

from jobs.steps.gas import serviced_fluid_of
from jobs.steps.values import Values
from shopcool.engineering.hose import HoseContent, Phase, hose_content, hose_volume
from shopcool.vehicles.choices import Refrigerant

BY_MACHINE, TYPED, COMPUTED, NOT_KNOWN = "BY_MACHINE", "TYPED", "COMPUTED", "NOT_KNOWN"
#: The density of the liquid is taken at this temperature [K]; 10 K change it by 3 %.
HOSE_TEMPERATURE_K = 298.15


def content_of(values: Values, refrigerant: Refrigerant) -> HoseContent | None:
    """Return what hoses full of liquid hold by their length and bore, None unless these were typed.

    Raises Refusal with ``bore`` or ``length`` for hoses that no shop has.
    """
    fluid = serviced_fluid_of(refrigerant)
    length, bore = values.si("hose_length"), values.si("hose_bore")
    if values.text("hoses") != COMPUTED or fluid is None or length is None or bore is None:
        return None
    return hose_content(
        refrigerant=fluid,
        volume=hose_volume(bore_m=bore, length_m=length),
        temperature_k=HOSE_TEMPERATURE_K,
        phase=Phase.LIQUID,
    )


def kept_kg(values: Values, refrigerant: Refrigerant) -> float:
    """Return what the hoses keep of a charge [kg]; 0 where the machine allows for it or nobody knows."""
    content = content_of(values, refrigerant)
    return content.liquid_kg if content else values.si("hose_content", 0.0)
