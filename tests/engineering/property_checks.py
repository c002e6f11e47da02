"""Properties beside tables, measurements and other implementations."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import chemicals
import iapws
import pyromat
from iapws._iapws import _Sublimation_Pressure

from shopcool.engineering import properties
from shopcool.engineering.fluids import Fluid
from tests.engineering.checks import Check
from tests.engineering.independent import second_opinion

TILLNER_ROTH = "Tillner-Roth and Baehr, J. Phys. Chem. Ref. Data 23 (1994) 657, table 8"
WEBBOOK = "NIST Chemistry WebBook, saturation properties"
HUBER = "Huber and McLinden 1992, modified Benedict-Webb-Rubin equation (another equation)"
PERKINS = "Perkins and Huber 2011, table 2, densities of Richter's equation (another equation)"
ASTINA = "Astina and Sato 2004 (another equation)"
HANDBOOK = "Mechanical Engineers' Handbook, volume 4, table 14"
CRC = "CRC Handbook of Chemistry and Physics, 1992-93, vapour pressure of water"


def saturated(fluid: Fluid, temperature_k: float, quality: float, name: str) -> Callable[[], float]:
    return lambda: float(
        getattr(properties.saturated_state_at_temperature(fluid, temperature_k, quality=quality), name)
    )


def single_phase(fluid: Fluid, pressure_pa: float, temperature_k: float, name: str) -> Callable[[], float]:
    return lambda: float(getattr(properties.state_pt(fluid, pressure_pa, temperature_k), name))


def tillner_roth() -> Iterator[Check]:
    # K: MPa, kg/m³ liquid and vapour, kJ/kg liquid and vapour, kJ/(kg K) vapour
    rows = {
        250.0: (0.11561, 1367.9, 5.9546, 169.57, 384.60, 1.7443),
        300.0: (0.70282, 1199.7, 34.193, 237.19, 413.27, 1.7156),
        350.0: (2.4611, 951.32, 140.99, 316.50, 429.03, 1.6889),
    }
    for kelvin, values in rows.items():
        columns = (
            ("p", 0.0, "pressure_pa", 1e6, 2e-4),
            ("ρ liquid", 0.0, "density_kg_m3", 1.0, 1e-4),
            ("ρ vapour", 1.0, "density_kg_m3", 1.0, 1e-4),
            ("h liquid", 0.0, "enthalpy_j_kg", 1e3, 2e-4),
            ("h vapour", 1.0, "enthalpy_j_kg", 1e3, 2e-4),
            ("s vapour", 1.0, "entropy_j_kg_k", 1e3, 2e-4),
        )
        for value, (label, quality, name, scale, tolerance) in zip(values, columns, strict=True):
            ours = saturated(Fluid.R134A, kelvin, quality, name)
            yield Check(
                "properties",
                f"R-134a {label}, {kelvin:g} K",
                ours,
                value * scale,
                tolerance,
                TILLNER_ROTH,
                "published",
            )


def other_equations() -> Iterator[Check]:
    # °C: MPa, kg/m³ liquid and vapour
    rows = {0.0: (0.29269, 1293.7, 14.420), 50.0: (1.3177, 1102.0, 66.165), 90.0: (3.2445, 836.9, 216.81)}
    for celsius, (megapascal, liquid, vapour) in rows.items():
        kelvin = celsius + 273.15
        where = f"{celsius:g} °C"
        yield Check(
            "properties",
            f"R-134a p, {where}",
            saturated(Fluid.R134A, kelvin, 0.0, "pressure_pa"),
            megapascal * 1e6,
            3e-3,
            HUBER,
            "published",
        )
        yield Check(
            "properties",
            f"R-134a ρ liquid, {where}",
            saturated(Fluid.R134A, kelvin, 0.0, "density_kg_m3"),
            liquid,
            3e-3,
            HUBER,
            "published",
        )
        yield Check(
            "properties",
            f"R-134a ρ vapour, {where}",
            saturated(Fluid.R134A, kelvin, 1.0, "density_kg_m3"),
            vapour,
            3e-3,
            HUBER,
            "published",
        )


def densities() -> Iterator[Check]:
    rows = (
        (Fluid.R1234YF, 0.05e6, 250.0, 2.80006, 1e-3, PERKINS),
        (Fluid.R1234YF, 0.1e6, 300.0, 4.671553, 1e-3, PERKINS),
        (Fluid.R1234YF, 20e6, 250.0, 1299.50, 1e-3, PERKINS),
        (Fluid.R1234YF, 20e6, 300.0, 1182.05, 1e-3, PERKINS),
        (Fluid.R152A, 0.5e6, 300.0, 14.9178, 3e-3, ASTINA),
        (Fluid.R152A, 0.1e6, 250.0, 3.32533, 3e-3, ASTINA),
        (Fluid.R134A, 0.2e6, 265.0, 9.9171, 1e-4, TILLNER_ROTH.replace("8", "9")),
        (Fluid.R134A, 2e6, 345.0, 102.38, 1e-4, TILLNER_ROTH.replace("8", "9")),
        (
            Fluid.NITROGEN,
            20e6,
            350.0,
            6355.2 * 0.02801348,
            2e-4,
            "Span et al. 2000, J. Phys. Chem. Ref. Data 29",
        ),
        (Fluid.NITROGEN, 101325.0, 300.0, 1.138, 5e-4, "Younglove 1982 (another equation)"),
    )
    for fluid, pressure, kelvin, value, tolerance, source in rows:
        name = f"{fluid} ρ, {pressure / 1e5:g} bar, {kelvin:g} K"
        ours = single_phase(fluid, pressure, kelvin, "density_kg_m3")
        yield Check("properties", name, ours, value, tolerance, source, "published")


def vapour_pressures_of_water() -> Iterator[Check]:
    for celsius, kilopascal in {5: 0.8726, 10: 1.2281, 20: 2.3388, 25: 3.169, 30: 4.2455, 40: 7.3814}.items():
        ours = saturated(Fluid.WATER, celsius + 273.15, 0.0, "pressure_pa")
        yield Check("properties", f"water p, {celsius} °C", ours, kilopascal * 1e3, 6e-4, CRC, "published")
    for celsius in (10, 30):
        ours = saturated(Fluid.WATER, celsius + 273.15, 0.0, "pressure_pa")
        yield Check(
            "properties",
            f"water p, {celsius} °C, IAPWS-IF97",
            ours,
            lambda kelvin=celsius + 273.15: 1e6 * iapws.iapws97._PSat_T(kelvin),
            1e-4,
            "iapws library, industrial formulation 1997 (another equation)",
            "independent library",
        )


def second_opinions() -> Iterator[Check]:
    tolerances = {
        Fluid.R134A: 1e-6,
        Fluid.R1234YF: 3e-3,
        Fluid.R152A: 1e-6,
        Fluid.R744: 1e-6,
        Fluid.R12: 1e-6,
    }
    for fluid, tolerance in tolerances.items():
        equation = "Richter et al. 2011, another equation" if fluid is Fluid.R1234YF else "same equation"
        for kelvin in (253.15, 293.15):
            for place, label in enumerate(("p", "ρ liquid", "ρ vapour")):
                yield Check(
                    "properties",
                    f"{fluid} {label}, {kelvin:g} K",
                    saturated(fluid, kelvin, float(place == 2), "density_kg_m3" if place else "pressure_pa"),
                    lambda fluid=fluid, kelvin=kelvin, place=place: second_opinion(fluid).saturation(kelvin)[
                        place
                    ],
                    tolerance,
                    f"teqp library, {equation}",
                    "independent library",
                )


def pyromat_pressure(name: str, kelvin: float) -> float:
    return 1e5 * float(pyromat.get(name).ps(T=kelvin)[()])


CHECKS: tuple[Check, ...] = (
    *tillner_roth(),
    *other_equations(),
    *densities(),
    *vapour_pressures_of_water(),
    *second_opinions(),
    Check(
        "properties",
        "R-134a p, 308.15 K",
        saturated(Fluid.R134A, 308.15, 0.0, "pressure_pa"),
        0.88698e6,
        1e-4,
        WEBBOOK,
        "published",
    ),
    Check(
        "properties",
        "R-134a ρ liquid, 308.15 K",
        saturated(Fluid.R134A, 308.15, 0.0, "density_kg_m3"),
        1167.5,
        1e-4,
        WEBBOOK,
        "published",
    ),
    Check(
        "properties",
        "R-134a boiling temperature, 0.1 MPa",
        lambda: properties.saturation_temperature_k(Fluid.R134A, 1e5),
        246.79,
        0.01,
        WEBBOOK,
        "published",
        absolute=True,
    ),
    Check(
        "properties",
        "R-134a boiling temperature, 5 bar",
        lambda: properties.saturation_temperature_k(Fluid.R134A, 5e5),
        288.83,
        0.2,
        HANDBOOK,
        "published",
        absolute=True,
    ),
    Check(
        "properties",
        "R-744 p, 250.02 K",
        saturated(Fluid.R744, 250.02, 0.0, "pressure_pa"),
        1.7862e6,
        1e-4,
        WEBBOOK,
        "published",
    ),
    Check(
        "properties",
        "R-1234yf critical temperature",
        lambda: properties.critical_temperature_k(Fluid.R1234YF),
        367.85,
        0.01,
        "Tanaka and Higashi 2010, measured 367.85 ± 0.01 K",
        "published",
        absolute=True,
    ),
    Check(
        "properties",
        "R-1234yf critical pressure",
        lambda: properties.critical_pressure_pa(Fluid.R1234YF),
        3.382e6,
        3e3,
        "Tanaka and Higashi 2010, measured 3382 ± 3 kPa",
        "published",
        absolute=True,
    ),
    Check(
        "properties",
        "ice p, 230 K",
        lambda: properties.ice_vapour_pressure_pa(230.0),
        8.94735,
        1e-6,
        "IAPWS R14-08(2011), table 3",
        "published",
    ),
    Check(
        "properties",
        "ice p, −10 °C",
        lambda: properties.ice_vapour_pressure_pa(263.15),
        lambda: 1e6 * _Sublimation_Pressure(263.15),
        1e-9,
        "iapws library",
        "independent library",
    ),
    Check(
        "properties",
        "R-134a p, 300 K, second implementation",
        saturated(Fluid.R134A, 300.0, 0.0, "pressure_pa"),
        lambda: pyromat_pressure("mp.C2H2F4", 300.0),
        5e-4,
        "PYroMat library",
        "independent library",
    ),
    Check(
        "properties",
        "nitrogen p, 100 K, second implementation",
        saturated(Fluid.NITROGEN, 100.0, 0.0, "pressure_pa"),
        lambda: pyromat_pressure("mp.N2", 100.0),
        5e-4,
        "PYroMat library",
        "independent library",
    ),
    Check(
        "properties",
        "water p, 20 °C, IAPWS-92",
        saturated(Fluid.WATER, 293.15, 0.0, "pressure_pa"),
        lambda: float(chemicals.iapws.iapws92_Psat(293.15)),
        1e-4,
        "chemicals library, IAPWS SR1-86(1992) (another equation)",
        "independent library",
    ),
    Check(
        "properties",
        "R-134a molar mass",
        lambda: properties.molar_mass_kg_mol(Fluid.R134A),
        lambda: chemicals.MW("811-97-2") / 1000.0,
        1e-4,
        "chemicals library, periodic table",
        "independent library",
    ),
    Check(
        "properties",
        "R-1234yf molar mass",
        lambda: properties.molar_mass_kg_mol(Fluid.R1234YF),
        lambda: chemicals.MW("754-12-1") / 1000.0,
        1e-4,
        "chemicals library, periodic table",
        "independent library",
    ),
)
