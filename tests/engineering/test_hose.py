"""What a hose holds, by geometry and by weighing."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shopcool.engineering import properties
from shopcool.engineering.errors import Refusal
from shopcool.engineering.hose import (
    Basis,
    HoseContent,
    HoseVolume,
    Phase,
    hose_content,
    hose_volume,
    hose_volume_by_weighing,
)
from shopcool.engineering.properties import SERVICE_REFRIGERANTS, Fluid
from tests.engineering.checks import Check, answer_or_refusal, assert_holds, each

ROOM_K = 298.15
LITRE = HoseVolume(1e-3, 0.0, Basis.GEOMETRY)


def content(refrigerant: Fluid = Fluid.R134A, **more: Any) -> HoseContent:
    """Return the content of 2.4 m of 4.8 mm bore at 25 °C."""
    volume = hose_volume(bore_m=4.8e-3, length_m=2.4, length_uncertainty_m=0.0)
    return hose_content(**({"refrigerant": refrigerant, "volume": volume, "temperature_k": ROOM_K} | more))


WEBBOOK = "NIST Chemistry WebBook, saturation properties"

CHECKS: tuple[Check, ...] = (
    Check(
        "hose",
        "one litre of liquid R-134a at 308.15 K [g]",
        lambda: 1e3 * hose_content(refrigerant=Fluid.R134A, volume=LITRE, temperature_k=308.15).liquid_kg,
        1167.5,
        1e-4,
        WEBBOOK,
        "published",
    ),
    Check(
        "hose",
        "one litre of R-134a vapour at 308.15 K [g]",
        lambda: 1e3 * hose_content(refrigerant=Fluid.R134A, volume=LITRE, temperature_k=308.15).vapour_kg,
        43.416,
        1e-4,
        WEBBOOK,
        "published",
    ),
    Check(
        "hose",
        "one litre of R-134a vapour at 20 °C [g]",
        lambda: 1e3 * hose_content(refrigerant=Fluid.R134A, volume=LITRE, temperature_k=293.15).vapour_kg,
        27.8,
        2e-3,
        "refrigerant tables, saturated vapour at 20 °C",
        "from memory",
    ),
    Check(
        "hose",
        "volume of 2.4 m, 4.8 mm [ml]",
        lambda: 1e6 * hose_volume(bore_m=4.8e-3, length_m=2.4).volume_m3,
        math.pi * 0.24**2 * 240.0,
        1e-12,
        "π r² L in centimetres",
        "arithmetic",
    ),
    Check(
        "hose",
        "3 m, 5 mm of liquid R-134a at 20 °C [g]",
        lambda: (
            1e3
            * hose_content(
                refrigerant=Fluid.R134A, volume=hose_volume(bore_m=5e-3, length_m=3.0), temperature_k=293.15
            ).liquid_kg
        ),
        58.9 * 1.2253,
        1e-3,
        "58.9 ml times the liquid density of a vehicle handbook, 1.2253 kg/l",
        "arithmetic",
    ),
    Check(
        "hose",
        "uncertainty for a bore known to 0.2 mm (k = 2) [g]",
        lambda: 1e3 * content().liquid_uncertainty_kg,
        52.41 * 2 * 0.2 / 4.8,
        2e-3,
        "twice the relative uncertainty of the bore",
        "arithmetic",
    ),
)


@each(CHECKS)
def test_the_world_outside_agrees(check: Check) -> None:
    assert_holds(check)


class TestTheContent:
    def test_liquid_and_vapour_are_the_bounds_while_the_phase_is_unknown(self) -> None:
        result = content()

        assert result.content_kg is None
        assert result.liquid_kg > 30.0 * result.vapour_kg

    def test_a_known_phase_has_one_answer(self) -> None:
        vapour = content(phase=Phase.VAPOUR, pressure_pa=3e5)

        assert vapour.content_kg == pytest.approx(0.57e-3, rel=0.02)
        assert content(phase=Phase.LIQUID).content_kg == content().liquid_kg

    def test_an_uncorrected_hose_can_take_a_sixth_of_a_charge(self) -> None:
        """A hose of 3 m and 5 mm left full of liquid, 450 g to charge."""
        volume = hose_volume(bore_m=5e-3, length_m=3.0)

        result = hose_content(refrigerant=Fluid.R134A, volume=volume, temperature_k=293.15, charge_kg=0.450)

        assert result.charge_error == pytest.approx(0.16, abs=0.005)

    def test_longer_and_wider_hold_more(self) -> None:
        lengths = [hose_volume(bore_m=5e-3, length_m=step).volume_m3 for step in range(1, 30)]
        bores = [hose_volume(bore_m=step * 1e-3, length_m=2.0).volume_m3 for step in range(1, 30)]

        assert lengths == sorted(lengths)
        assert bores == sorted(bores)


class TestWeighing:
    def test_it_finds_the_volume_of_which_it_was_made(self) -> None:
        density = properties.saturated_density_kg_m3(Fluid.R134A, ROOM_K, quality=0.0)
        retained = [density * 43.4e-6 + error for error in (-1e-3, 0.0, 1e-3)]

        volume = hose_volume_by_weighing(
            refrigerant=Fluid.R134A, temperature_k=ROOM_K, retained_kg=retained, scale_uncertainty_kg=0.5e-3
        )

        assert volume.volume_m3 == pytest.approx(43.4e-6)
        assert volume.uncertainty_m3 == pytest.approx(2e-3 / math.sqrt(3.0) / density)
        assert volume.basis is Basis.WEIGHING

    def test_it_beats_a_badly_known_bore(self) -> None:
        weighed = hose_volume_by_weighing(
            refrigerant=Fluid.R134A, temperature_k=ROOM_K, retained_kg=[0.052], scale_uncertainty_kg=1e-3
        )

        assert weighed.uncertainty_m3 < hose_volume(bore_m=4.8e-3, length_m=2.4).uncertainty_m3


class TestRefusals:
    @pytest.mark.parametrize(
        ("changes", "code", "sentence"),
        [
            ({"length_m": 240.0}, "length", "centimetres as metres"),
            ({"bore_m": 0.048}, "bore", "outer diameter"),
            ({"bore_m": math.nan}, "not_a_number", "The bore is missing or not a number"),
            ({"bore_uncertainty_m": -1.0}, "uncertainty", "must be between 0 and"),
        ],
    )
    def test_geometry_that_is_no_service_hose(
        self, changes: dict[str, Any], code: str, sentence: str
    ) -> None:
        with pytest.raises(Refusal, match=sentence) as refused:
            hose_volume(**({"bore_m": 4.8e-3, "length_m": 2.4} | changes))

        assert refused.value.code == code

    @pytest.mark.parametrize(
        ("changes", "code", "sentence"),
        [
            (
                {"phase": Phase.LIQUID, "pressure_pa": 3e5},
                "phase",
                r"At 25 °C and 3\.00 bar abs it is vapour, not liquid",
            ),
            ({"phase": Phase.VAPOUR, "pressure_pa": 8e5}, "phase", "it is liquid, not vapour"),
            ({"charge_kg": 0.0}, "charge", "between 1 g and 100 kg"),
            ({"temperature_k": math.inf}, "not_a_number", "The temperature is missing or not a number"),
            ({"refrigerant": Fluid.R744, "temperature_k": 310.0}, "above_Tc", "no liquid at 36.9 °C"),
            ({"pressure_pa": 0.0}, "p_range", "outside what is known of R-134a"),
        ],
    )
    def test_content_that_does_not_exist(self, changes: dict[str, Any], code: str, sentence: str) -> None:
        with pytest.raises(Refusal, match=sentence) as refused:
            content(**changes)

        assert refused.value.code == code

    @pytest.mark.parametrize(
        ("retained", "code", "sentence"),
        [
            ([], "few", "At least one weighing"),
            ([-0.01], "retained", "check the order"),
            ([60.0], "retained", "No service hose"),
        ],
    )
    def test_weighings_that_are_no_hose(self, retained: list[float], code: str, sentence: str) -> None:
        with pytest.raises(Refusal, match=sentence) as refused:
            hose_volume_by_weighing(
                refrigerant=Fluid.R134A, temperature_k=ROOM_K, retained_kg=retained, scale_uncertainty_kg=1e-3
            )

        assert refused.value.code == code


NUMBER = st.one_of(st.floats(), st.floats(0.0, 0.05))


@given(
    st.sampled_from(SERVICE_REFRIGERANTS),
    NUMBER,
    st.one_of(st.floats(), st.floats(0.0, 30.0)),
    st.one_of(st.floats(), st.floats(230.0, 355.0)),
    st.one_of(st.none(), st.floats(), st.floats(1e3, 1e7)),
    st.sampled_from(Phase),
    NUMBER,
)
def test_any_numbers_give_finite_masses_or_a_refusal(
    fluid: Fluid, bore: float, length: float, kelvin: float, pressure: Any, phase: Phase, spread: float
) -> None:
    outcome = answer_or_refusal(
        lambda: hose_content(
            refrigerant=fluid,
            volume=hose_volume(bore_m=bore, length_m=length, bore_uncertainty_m=spread),
            temperature_k=kelvin,
            pressure_pa=pressure,
            phase=phase,
        )
    )

    if not isinstance(outcome, Refusal):
        assert math.isfinite(outcome.liquid_uncertainty_kg)
        assert 0.0 < outcome.vapour_kg < outcome.liquid_kg


@given(st.lists(NUMBER, max_size=4), NUMBER, st.one_of(st.floats(), st.floats(230.0, 355.0)))
def test_any_weighings_give_a_finite_volume_or_a_refusal(
    retained: list[float], spread: float, kelvin: float
) -> None:
    outcome = answer_or_refusal(
        lambda: hose_volume_by_weighing(
            refrigerant=Fluid.R1234YF, temperature_k=kelvin, retained_kg=retained, scale_uncertainty_kg=spread
        )
    )

    if not isinstance(outcome, Refusal):
        assert math.isfinite(outcome.volume_m3 + outcome.uncertainty_m3)
