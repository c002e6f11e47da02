"""Two guards around a verdict: before a compressor is replaced, and before a window is applied."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from shopcool.engineering.errors import Refusal
from shopcool.engineering.limits import check_temperature, within
from shopcool.engineering.results import Notice

METHOD_VERSION = "diagnosis-gate 1"
GATE_SOURCE = (
    "common practice: most returned compressors show no fault; charge, condenser and mounts come first"
)


@dataclass(frozen=True)
class CompressorGate:
    """Whether a compressor may be condemned: what is missing, and the charge as a share of label [-]."""

    recovered_kg: float | None
    label_kg: float | None
    airflow_checked: bool
    charge_share: float | None
    missing: tuple[Notice, ...]
    source: str = GATE_SOURCE
    method_version: str = METHOD_VERSION

    @property
    def is_open(self) -> bool:
        """Whether everything that must come first is on record."""
        return not self.missing


def compressor_gate(
    *, recovered_kg: float | None, label_kg: float | None, airflow_checked: bool
) -> CompressorGate:
    """Return what must be on record before a compressor is replaced.

    Parameters:
        recovered_kg: recovered mass [kg]; None when not weighed.
        label_kg: label mass [kg]; None when not known.
        airflow_checked: whether air through the condenser was checked.

    Returns: what is missing, and the charge as a share of the label [-].

    Raises ``not_a_number``, ``mass``.

    Source: common practice.
    """
    for field, mass, low in (("recovered_kg", recovered_kg, 0.0), ("label_kg", label_kg, 0.01)):
        if mass is not None:
            within(
                mass,
                low,
                50.0,
                name="The mass",
                field=field,
                code="mass",
                message="The mass must be positive and at most 50 kg.",
            )
    wanted = (
        (recovered_kg is not None, Notice("recovered", "Recover and weigh the charge first.")),
        (label_kg is not None, Notice("label", "Enter the label charge first.")),
        (airflow_checked, Notice("airflow", "Check the air through the condenser first.")),
    )
    share = None if recovered_kg is None or label_kg is None else recovered_kg / label_kg
    return CompressorGate(
        recovered_kg=recovered_kg,
        label_kg=label_kg,
        airflow_checked=airflow_checked,
        charge_share=share,
        missing=tuple(notice for done, notice in wanted if not done),
    )


class Grade(StrEnum):
    """A reading against the maker's window."""

    BELOW = "below"
    INSIDE = "inside"
    ABOVE = "above"


@dataclass(frozen=True)
class Window:
    """The maker's window: pressures [Pa] that hold only for an inlet air temperature [K] and a running state.

    All pressures on one basis, which is the caller's to keep.
    """

    low_side_pa: tuple[float, float]
    high_side_pa: tuple[float, float]
    inlet_k: tuple[float, float]
    running_state: str
    source: str


@dataclass(frozen=True)
class WindowGrades:
    """Both sides against the maker's window."""

    window: Window
    low_side: Grade
    high_side: Grade
    method_version: str = METHOD_VERSION

    @property
    def source(self) -> str:
        """Where the maker states the window."""
        return self.window.source


def grade_window(low_side_pa: float, high_side_pa: float, inlet_k: float, window: Window) -> WindowGrades:
    """Return both pressures against a maker's window, only inside its test conditions.

    Parameters:
        low_side_pa: low-side pressure [Pa], on the basis of the window.
        high_side_pa: high-side pressure [Pa], on the basis of the window.
        inlet_k: temperature of the air at the inlet [K].
        window: what the maker states.

    Returns: a grade per side.

    Raises ``inlet`` outside the window's conditions, ``not_a_number``, ``pressure``, ``temperature``.

    Source: the window's own.
    """
    check_temperature(inlet_k, field="inlet_k")
    for field, pressure in (("low_side_pa", low_side_pa), ("high_side_pa", high_side_pa)):
        within(
            pressure,
            -110_000.0,
            2e7,
            name="A pressure",
            field=field,
            code="pressure",
            message="A pressure must be above a perfect vacuum and at most 200 bar.",
        )
    coolest, warmest = window.inlet_k
    if not coolest <= inlet_k <= warmest:
        raise Refusal(
            "inlet",
            f"The maker's values hold for inlet air of {coolest - 273.15:.0f} to {warmest - 273.15:.0f} "
            f"°C and "
            f"{window.running_state}: bring the test there, then compare.",
            field="inlet_k",
        )
    return WindowGrades(
        window, _grade(low_side_pa, window.low_side_pa), _grade(high_side_pa, window.high_side_pa)
    )


def _grade(value: float, bounds: tuple[float, float]) -> Grade:
    low, high = bounds
    if value < low:
        return Grade.BELOW
    return Grade.ABOVE if value > high else Grade.INSIDE
