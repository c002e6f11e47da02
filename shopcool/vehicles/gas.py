"""The refrigerant of a circuit as the computations know it."""

from __future__ import annotations

from shopcool.engineering.properties import SERVICE_REFRIGERANTS, Fluid
from shopcool.vehicles.choices import Refrigerant

_FLUIDS = {
    Refrigerant.R134A: Fluid.R134A,
    Refrigerant.R1234YF: Fluid.R1234YF,
    Refrigerant.R744: Fluid.R744,
    Refrigerant.R152A: Fluid.R152A,
    Refrigerant.R12: Fluid.R12,
}


def fluid_of(refrigerant: Refrigerant) -> Fluid | None:
    """Return the fluid of a refrigerant, None when nobody knows which one it is."""
    return _FLUIDS.get(refrigerant)


def serviced_fluid_of(refrigerant: Refrigerant) -> Fluid | None:
    """Return the fluid whose cycle can be computed, None for R-12 and for an unknown one."""
    fluid = fluid_of(refrigerant)
    return fluid if fluid in SERVICE_REFRIGERANTS else None
