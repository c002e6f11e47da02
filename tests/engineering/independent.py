"""A second opinion on refrigerants: the equations of state that another library carries, solved on its own.

The other library gives derivatives of the Helmholtz energy; saturation, density and isentropic end state are
solved here, so nothing is shared with the code under test but the published coefficients.
"""

from __future__ import annotations

import functools
import json
from pathlib import Path

import numpy as np
import teqp
from scipy.optimize import brentq

# Where R-1234yf is concerned the other library carries a different equation of state (Richter et al. 2011).
FILES = {"R-134a": "R134a", "R-1234yf": "R1234yf", "R-152a": "R152A", "R-744": "CarbonDioxide", "R-12": "R12"}
MOLE = np.array([1.0])


class SecondOpinion:
    """Saturation and states of one refrigerant from its Helmholtz energy."""

    def __init__(self, refrigerant: str) -> None:
        path = Path(teqp.get_datapath()) / "dev" / "fluids" / f"{FILES[refrigerant]}.json"
        equation = json.loads(path.read_text(encoding="utf-8"))["EOS"][0]
        self.gas_constant, self.molar_mass = equation["gas_constant"], equation["molar_mass"]
        self.model = teqp.build_multifluid_model([FILES[refrigerant]], teqp.get_datapath())
        self.ancillaries = self.model.build_ancillaries()
        self.ideal = teqp.IdealHelmholtz([teqp.convert_CoolProp_idealgas(str(path), 0)])
        self.critical_k = float(self.model.get_Tcvec()[0])

    def saturation(self, temperature_k: float) -> tuple[float, float, float]:
        """Return pressure [Pa], liquid and vapour density [kg/m³] at a temperature [K]."""
        liquid, vapour = self.model.pure_VLE_T(
            temperature_k, self.ancillaries.rhoL(temperature_k), self.ancillaries.rhoV(temperature_k), 20
        )
        return self._pressure(temperature_k, vapour), liquid * self.molar_mass, vapour * self.molar_mass

    def saturation_temperature_k(self, pressure_pa: float) -> float:
        """Return the boiling temperature [K] at a pressure [Pa]."""
        return float(
            brentq(lambda t: self.saturation(t)[0] - pressure_pa, 200.0, self.critical_k - 4.0, xtol=1e-9)
        )

    def density(self, pressure_pa: float, temperature_k: float, *, liquid: bool) -> float:
        """Return the density [kg/m³] of one phase at a pressure [Pa] and a temperature [K]."""
        if liquid:
            low = self.saturation(temperature_k)[1] / self.molar_mass * 0.999
            high = low * 1.3
        else:
            low = pressure_pa / (self.gas_constant * temperature_k) * 0.9
            high = (
                self.saturation(temperature_k)[2] / self.molar_mass * 1.001
                if temperature_k < self.critical_k
                else 4 * low
            )
        return self.molar_mass * float(
            brentq(lambda rho: self._pressure(temperature_k, rho) - pressure_pa, low, high, xtol=1e-10)
        )

    def enthalpy(self, temperature_k: float, density: float) -> float:
        """Return the specific enthalpy [J/kg], of this equation's own zero."""
        rho = density / self.molar_mass
        terms = 1.0 + self.model.get_Ar01(temperature_k, rho, MOLE) + self._energy_slope(temperature_k, rho)
        return float(self.gas_constant * temperature_k * terms / self.molar_mass)

    def entropy(self, temperature_k: float, density: float) -> float:
        """Return the specific entropy [J/(kg K)], of this equation's own zero."""
        rho = density / self.molar_mass
        energy = self.model.get_Ar00(temperature_k, rho, MOLE) + self.ideal.get_Ar00(temperature_k, rho, MOLE)
        return float(self.gas_constant * (self._energy_slope(temperature_k, rho) - energy) / self.molar_mass)

    def isentropic_temperature_k(self, pressure_pa: float, entropy: float) -> float:
        """Return the temperature [K] of superheated vapour at a pressure [Pa] and an entropy [J/(kg K)]."""
        boiling = self.saturation_temperature_k(pressure_pa)

        def excess(temperature: float) -> float:
            return self.entropy(temperature, self.density(pressure_pa, temperature, liquid=False)) - entropy

        return float(brentq(excess, boiling + 1e-4, boiling + 120.0, xtol=1e-9))

    def _pressure(self, temperature_k: float, rho: float) -> float:
        return float(
            rho * self.gas_constant * temperature_k * (1.0 + self.model.get_Ar01(temperature_k, rho, MOLE))
        )

    def _energy_slope(self, temperature_k: float, rho: float) -> float:
        return float(
            self.model.get_Ar10(temperature_k, rho, MOLE) + self.ideal.get_Ar10(temperature_k, rho, MOLE)
        )


@functools.cache
def second_opinion(refrigerant: str) -> SecondOpinion:
    """Return the second opinion on a refrigerant, built once."""
    return SecondOpinion(refrigerant)
