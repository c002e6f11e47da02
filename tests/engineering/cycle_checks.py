"""The cycle beside textbooks and another library."""

from __future__ import annotations

from typing import Any

from shopcool.engineering import properties
from shopcool.engineering.cycle import Cycle, cycle
from shopcool.engineering.properties import Fluid
from tests.engineering.checks import Check
from tests.engineering.independent import second_opinion

GAUGE_PA = 101325.0
PSI_PA = 6894.757293168


def readings(
    refrigerant: Fluid = Fluid.R134A,
    low_pa: float = 2e5,
    high_pa: float = 14e5,
    superheat_k: float = 5.0,
    subcooling_k: float = 5.0,
    **more: Any,
) -> dict[str, Any]:
    return {
        "refrigerant": refrigerant,
        "low_pressure_pa": low_pa,
        "high_pressure_pa": high_pa,
        "suction_temperature_k": properties.saturation_temperature_k(refrigerant, low_pa) + superheat_k,
        "liquid_temperature_k": properties.saturation_temperature_k(refrigerant, high_pa) - subcooling_k,
        **more,
    }


def between(refrigerant: Fluid, low_pa: float, high_pa: float, **more: Any) -> Cycle:
    """Return the ideal cycle from saturated vapour to boiling liquid."""
    return cycle(**readings(refrigerant, low_pa, high_pa, superheat_k=0.0, subcooling_k=0.0, **more))


def second_cycle(refrigerant: str, low_pa: float, high_pa: float, difference_k: float) -> dict[str, float]:
    """Return the same cycle from the other library."""
    other = second_opinion(refrigerant)
    boiling, condensing = (other.saturation_temperature_k(pressure) for pressure in (low_pa, high_pa))
    suction_k, liquid_k = boiling + difference_k, condensing - difference_k
    suction = other.density(low_pa, suction_k, liquid=False)
    liquid = other.density(high_pa, liquid_k, liquid=True)
    discharge_k = other.isentropic_temperature_k(high_pa, other.entropy(suction_k, suction))
    discharge = other.density(high_pa, discharge_k, liquid=False)
    start = other.enthalpy(suction_k, suction)
    cooling = start - other.enthalpy(liquid_k, liquid)
    work = other.enthalpy(discharge_k, discharge) - start
    return {"discharge_k": discharge_k, "work": work, "cooling": cooling, "cop": cooling / work}


def second_opinions() -> list[Check]:
    checks = []
    for fluid, exact in ((Fluid.R134A, True), (Fluid.R152A, True), (Fluid.R1234YF, False)):
        source = "teqp library, " + ("same equation" if exact else "Richter et al. 2011, another equation")
        rows = (
            ("ideal performance", "cop", lambda c: c.cop_ideal, 1e-4 if exact else 3e-3, False),
            ("work [J/kg]", "work", lambda c: c.work_j_kg, 1e-4 if exact else 3e-3, False),
            ("cooling [J/kg]", "cooling", lambda c: c.cooling_j_kg, 1e-4 if exact else 3e-3, False),
            (
                "ideal discharge [K]",
                "discharge_k",
                lambda c: c.isentropic_discharge_temperature_k,
                1e-3 if exact else 0.6,
                True,
            ),
        )
        for label, key, ours, tolerance, absolute in rows:
            checks.append(
                Check(
                    "cycle",
                    f"{fluid} {label}, 2/14 bar",
                    lambda fluid=fluid, ours=ours: ours(cycle(**readings(fluid))),
                    lambda fluid=fluid, key=key: second_cycle(fluid, 2e5, 14e5, 5.0)[key],
                    tolerance,
                    source,
                    "independent library",
                    absolute,
                )
            )
    return checks


HOMEWORK = "University thermodynamics homework, ideal R-134a cycle, saturated at −20 °C to 1.2 MPa"
TEXTBOOK = "Solution manual of a thermodynamics textbook, problem 11-20, R-134a"


def homework() -> Cycle:
    return between(Fluid.R134A, properties.saturation_pressure_pa(Fluid.R134A, 253.15), 12e5)


CHECKS: tuple[Check, ...] = (
    *second_opinions(),
    Check(
        "cycle",
        "ideal performance, −20 °C / 1.2 MPa",
        lambda: homework().cop_ideal,
        2.6186,
        1e-3,
        HOMEWORK,
        "published",
    ),
    Check(
        "cycle",
        "work [kJ/kg], −20 °C / 1.2 MPa",
        lambda: homework().work_j_kg / 1e3,
        46.07,
        2e-3,
        HOMEWORK,
        "published",
    ),
    Check(
        "cycle",
        "cooling [kJ/kg], −20 °C / 1.2 MPa",
        lambda: homework().cooling_j_kg / 1e3,
        120.64,
        2e-3,
        HOMEWORK,
        "published",
    ),
    Check(
        "cycle",
        "ideal performance, 0.14 / 0.8 MPa",
        lambda: between(Fluid.R134A, 1.4e5, 8e5).cop_ideal,
        3.97,
        2e-3,
        "textbook example, ideal cycle",
        "from memory",
    ),
    Check(
        "cycle",
        "cooling [kJ/kg], −10 / 28 °C",
        lambda: (
            between(
                Fluid.R134A,
                properties.saturation_pressure_pa(Fluid.R134A, 263.15),
                properties.saturation_pressure_pa(Fluid.R134A, 301.15),
            ).cooling_j_kg
            / 1e3
        ),
        152.74,
        1e-2,
        "posted problem with older tables, R-134a",
        "published",
    ),
    Check(
        "cycle",
        "superheat ± of a 10 bar gauge of class 1.6 at 3 bar [K]",
        lambda: (
            cycle(
                **readings(low_pa=3e5, low_uncertainty_pa=8e3, temperature_uncertainty_k=0.0)
            ).superheat_uncertainty_k
        ),
        lambda: (
            second_opinion("R-134a").saturation_temperature_k(3.16e5)
            - second_opinion("R-134a").saturation_temperature_k(3e5)
        ),
        3e-2,
        "teqp library, boiling temperature 0.16 bar higher",
        "independent library",
    ),
    Check(
        "cycle",
        "Carnot performance, 0 / 40 °C",
        lambda: float(
            between(
                Fluid.R152A,
                properties.saturation_pressure_pa(Fluid.R152A, 273.15),
                properties.saturation_pressure_pa(Fluid.R152A, 313.15),
            ).cop_carnot
            or 0.0
        ),
        273.15 / 40.0,
        1e-6,
        "T / (T_high − T)",
        "arithmetic",
    ),
)
