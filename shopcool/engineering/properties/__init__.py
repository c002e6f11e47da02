"""Thermodynamic properties of the fluids of the job: the one door to the property library.

The library answers outside its equations' validity, fails on the saturation line and is not safe when threads
share a state. This module owns names and validity windows, keeps one state per fluid and thread, falls back
to the saturated state on the line, and turns every failure into a
:class:`~shopcool.engineering.errors.Refusal`. Import
costs nothing: the library is loaded by the first question or by :func:`warm_up`.

Enthalpy and entropy have the reference of the International Institute of Refrigeration (200 kJ/kg and 1
kJ/(kg K) for saturated liquid at 0 °C) where the library has it. Use differences only.
"""

from shopcool.engineering.fluids import (
    REFRIGERANTS,
    SERVICE_REFRIGERANTS,
    Fluid,
    fluid_named,
    service_refrigerant,
)
from shopcool.engineering.properties.ice import ice_vapour_pressure_pa
from shopcool.engineering.properties.library import (
    State,
    critical_pressure_pa,
    critical_temperature_k,
    equation_of_state,
    library_version,
    molar_mass_kg_mol,
    warm_up,
)
from shopcool.engineering.properties.saturation import (
    saturated_density_kg_m3,
    saturated_pair,
    saturated_state_at_pressure,
    saturated_state_at_temperature,
    saturation_pressure_pa,
    saturation_temperature_k,
    triple_pressure_pa,
)
from shopcool.engineering.properties.states import (
    density_kg_m3,
    enthalpy_j_kg,
    entropy_j_kg_k,
    state_ph,
    state_ps,
    state_pt,
    viscosity_pa_s,
)

__all__ = [
    "REFRIGERANTS",
    "SERVICE_REFRIGERANTS",
    "Fluid",
    "State",
    "critical_pressure_pa",
    "critical_temperature_k",
    "density_kg_m3",
    "enthalpy_j_kg",
    "entropy_j_kg_k",
    "equation_of_state",
    "fluid_named",
    "ice_vapour_pressure_pa",
    "library_version",
    "molar_mass_kg_mol",
    "saturated_density_kg_m3",
    "saturated_pair",
    "saturated_state_at_pressure",
    "saturated_state_at_temperature",
    "saturation_pressure_pa",
    "saturation_temperature_k",
    "service_refrigerant",
    "state_ph",
    "state_ps",
    "state_pt",
    "triple_pressure_pa",
    "viscosity_pa_s",
    "warm_up",
]
