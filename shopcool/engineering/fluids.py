"""The fluids of the job, and the window in which each equation of state is believed."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from shopcool.engineering.errors import Refusal


class Fluid(StrEnum):
    """A fluid by the name that people use."""

    R134A = "R-134a"
    R1234YF = "R-1234yf"
    R744 = "R-744"
    R152A = "R-152a"
    R12 = "R-12"
    NITROGEN = "nitrogen"
    WATER = "water"
    AIR = "air"


# What may stand in a circuit that is serviced. R-12 is only ever recovered.
SERVICE_REFRIGERANTS = (Fluid.R134A, Fluid.R1234YF, Fluid.R744, Fluid.R152A)
REFRIGERANTS = (*SERVICE_REFRIGERANTS, Fluid.R12)


@dataclass(frozen=True)
class Window:
    """Where an equation of state holds: triple point to highest temperature [K], highest pressure [Pa]."""

    library_name: str
    lowest_k: float
    highest_k: float
    highest_pa: float
    equation: str


# The library answers outside these limits without a word, so they are kept here. Limits as published with
# each equation.
WINDOWS: dict[Fluid, Window] = {
    Fluid.R134A: Window("R134a", 169.85, 455.0, 70e6, "Tillner-Roth and Baehr 1994"),
    Fluid.R1234YF: Window("R1234yf", 121.6, 410.0, 100e6, "Lemmon and Akasaka 2022"),
    Fluid.R744: Window("CarbonDioxide", 216.592, 1100.0, 800e6, "Span and Wagner 1996"),
    Fluid.R152A: Window("R152a", 154.56, 500.0, 58e6, "Outcalt and McLinden 1996"),
    Fluid.R12: Window("R12", 116.099, 525.0, 200e6, "Marx, Pruss and Wagner 1992"),
    Fluid.NITROGEN: Window("Nitrogen", 63.151, 1000.0, 2200e6, "Span et al. 2000"),
    Fluid.WATER: Window("Water", 273.16, 1273.0, 1000e6, "IAPWS-95, Wagner and Pruss 2002"),
    Fluid.AIR: Window("Air", 132.64, 1000.0, 1000e6, "Lemmon et al. 2000, as a gas only"),
}


def fluid_named(name: str) -> Fluid:
    """Return the fluid of that name, or refuse with ``unknown_fluid``."""
    if type(name) is Fluid:
        return name
    try:
        return Fluid(name)
    except ValueError:
        names = ", ".join(Fluid)
        raise Refusal(
            "unknown_fluid", f"“{name}” is not a fluid known here: {names}.", field="fluid"
        ) from None


def service_refrigerant(name: str) -> Fluid:
    """Return a refrigerant that circuits are serviced with, or refuse with ``not_serviced``."""
    fluid = fluid_named(name)
    if fluid not in SERVICE_REFRIGERANTS:
        names = ", ".join(SERVICE_REFRIGERANTS)
        raise Refusal(
            "not_serviced", f"{fluid} is not computed here; possible are {names}.", field="refrigerant"
        )
    return fluid
