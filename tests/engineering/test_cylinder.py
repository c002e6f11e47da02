"""How much a cylinder may hold."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shopcool.engineering import properties
from shopcool.engineering.cylinder import Cylinder, Verdict, cylinder, limits_kg_m3, liquid_full_temperature_k
from shopcool.engineering.errors import Refusal
from shopcool.engineering.properties import SERVICE_REFRIGERANTS, Fluid
from tests.engineering.checks import Check, answer_or_refusal, assert_holds, each
from tests.engineering.independent import second_opinion

POUND_KG = 0.45359237
WATER_POUND_M3 = POUND_KG / 1000.0


def twelve_litres(refrigerant: Fluid = Fluid.R134A, **more: Any) -> Cylinder:
    return cylinder(**({"refrigerant": refrigerant, "water_capacity_m3": 12e-3, "tare_kg": 8.0} | more))


def full_at_c(refrigerant: Fluid, share: float, celsius: float) -> float:
    """Return the liquid-full temperature [°C] after filling to a share of the volume at a temperature."""
    filling = share * properties.saturated_density_kg_m3(refrigerant, celsius + 273.15, quality=0.0)
    kelvin = liquid_full_temperature_k(refrigerant, filling)
    return math.nan if kelvin is None else kelvin - 273.15


def gross_pounds(refrigerant: Fluid, water_pounds: float, tare_pounds: float) -> float:
    result = cylinder(
        refrigerant=refrigerant,
        water_capacity_m3=water_pounds * WATER_POUND_M3,
        tare_kg=tare_pounds * POUND_KG,
    )
    return result.maximum_gross_kg / POUND_KG


CHECKS: tuple[Check, ...] = (
    *(
        Check(
            "cylinder",
            f"{fluid} {label} [kg/l]",
            lambda fluid=fluid, label=label: limits_kg_m3(fluid)[label] / 1e3,
            value,
            6e-3,
            "P200 filling ratio of the dangerous-goods tables",
            "from memory",
        )
        for fluid, label, value in (
            (Fluid.R134A, "95 % full at 50 °C", 1.05),
            (Fluid.R152A, "95 % full at 50 °C", 0.79),
        )
    ),
    Check(
        "cylinder",
        "R-152a filling density [kg/l]",
        lambda: limits_kg_m3(Fluid.R152A)["95 % full at 50 °C"] / 1e3,
        0.79,
        2e-3,
        "49 CFR 173.304a(a)(2), filling density 79 % for R-152a",
        "published",
    ),
    Check(
        "cylinder",
        "R-134a limit of 80 % at 25 °C [kg/l]",
        lambda: twelve_litres().maximum_content_kg / 12.0,
        lambda: 0.8 * second_opinion("R-134a").saturation(298.15)[1] / 1e3,
        1e-6,
        "teqp library, liquid density, same equation",
        "independent library",
    ),
    Check(
        "cylinder",
        "R-1234yf limit of 80 % at 25 °C [kg/l]",
        lambda: twelve_litres(Fluid.R1234YF).maximum_content_kg / 12.0,
        lambda: 0.8 * second_opinion("R-1234yf").saturation(298.15)[1] / 1e3,
        1e-3,
        "teqp library, liquid density, Richter et al. 2011, another equation",
        "independent library",
    ),
    Check(
        "cylinder",
        "R-134a gross of 26.2 lb water capacity, 17.0 lb tare [lb]",
        lambda: gross_pounds(Fluid.R134A, 26.2, 17.0),
        0.8 * 26.2 * 1.207 + 17.0,
        2e-3,
        "AHRI Guideline K rule, 0.8 × water capacity × specific gravity at 77 °F + tare",
        "arithmetic",
    ),
    *(
        Check(
            "cylinder",
            f"{fluid} liquid-full temperature of {share:.0%} at {celsius:g} °C: density there [kg/m³]",
            lambda fluid=fluid, share=share, celsius=celsius: properties.saturated_density_kg_m3(
                fluid, full_at_c(fluid, share, celsius) + 273.15, quality=0.0
            ),
            lambda fluid=fluid, share=share, celsius=celsius: (
                share * second_opinion(fluid).saturation(celsius + 273.15)[1]
            ),
            1e-4 if fluid is Fluid.R134A else 1e-3,
            "teqp library, liquid density",
            "independent library",
        )
        for fluid, share, celsius in (
            (Fluid.R134A, 0.9, 20.0),
            (Fluid.R134A, 0.8, 25.0),
            (Fluid.R1234YF, 0.9, 20.0),
        )
    ),
)


@each(CHECKS)
def test_the_world_outside_agrees(check: Check) -> None:
    assert_holds(check)


class TestTheLimit:
    @pytest.mark.parametrize("fluid", [Fluid.R134A, Fluid.R1234YF, Fluid.R152A])
    def test_the_smallest_rule_decides_and_leaves_room_beyond_55_degrees(self, fluid: Fluid) -> None:
        """49 CFR 173.304(b): liquid may not fill the cylinder at any temperature up to 55 °C."""
        result = twelve_litres(fluid)

        assert result.maximum_content_kg == pytest.approx(12e-3 * min(limits_kg_m3(fluid).values()))
        assert result.deciding_rule == "80 % full at 25 °C"
        assert result.liquid_full_temperature_k is not None
        assert result.liquid_full_temperature_k > 328.15

    @pytest.mark.parametrize(
        ("content_kg", "verdict"),
        [(5.0, Verdict.MAY_TAKE), (12.5, Verdict.OVERFULL), (None, Verdict.NO_CONTENT_GIVEN)],
    )
    def test_the_content_has_a_verdict(self, content_kg: float | None, verdict: Verdict) -> None:
        assert twelve_litres(content_kg=content_kg).verdict is verdict

    def test_exactly_full_takes_nothing_more(self) -> None:
        most = twelve_litres().maximum_content_kg

        result = twelve_litres(content_kg=most)

        assert (result.verdict, result.free_kg) == (Verdict.FULL, 0.0)

    def test_ten_per_cent_more_is_full_of_liquid_on_a_hot_day(self) -> None:
        assert full_at_c(Fluid.R134A, 0.9, 20.0) == pytest.approx(49.9, abs=0.1)
        assert full_at_c(Fluid.R1234YF, 0.95, 20.0) == pytest.approx(34.9, abs=0.1)

    def test_more_content_is_full_at_a_lower_temperature(self) -> None:
        temperatures = [liquid_full_temperature_k(Fluid.R134A, filling) for filling in range(900, 1300, 20)]

        assert temperatures == sorted((kelvin for kelvin in temperatures if kelvin), reverse=True)

    def test_r744_obeys_its_stamp_only(self) -> None:
        result = twelve_litres(Fluid.R744, filling_ratio_kg_l=0.66)

        assert result.maximum_content_kg == pytest.approx(7.92)
        assert (result.deciding_rule, result.liquid_full_temperature_k) == ("stamped filling ratio", None)

    def test_a_stamp_below_the_rule_decides(self) -> None:
        assert twelve_litres(filling_ratio_kg_l=0.5).deciding_rule == "stamped filling ratio"


class TestRefusals:
    @pytest.mark.parametrize(
        ("changes", "code", "sentence"),
        [
            ({"water_capacity_m3": 12.0}, "V", "between 0.2 l and 1 m³"),
            (
                {"water_capacity_m3": math.nan},
                "not_a_number",
                "The water capacity is missing or not a number",
            ),
            ({"tare_kg": -1.0}, "tare", "The tare must be between 0 and 500 kg"),
            ({"content_kg": math.inf}, "not_a_number", "The content is missing or not a number"),
            ({"content_kg": 20.0}, "liquid_full", "does not fit even at −40 °C"),
            ({"refrigerant": Fluid.R744}, "R744_ratio", "give the stamped filling ratio"),
            (
                {"refrigerant": Fluid.R744, "filling_ratio_kg_l": 1.2},
                "R744_ratio",
                "give the stamped filling ratio",
            ),
            ({"refrigerant": Fluid.R12}, "not_serviced", "R-12 is not computed here"),
        ],
    )
    def test_each_names_its_reason(self, changes: dict[str, Any], code: str, sentence: str) -> None:
        with pytest.raises(Refusal, match=sentence) as refused:
            twelve_litres(**changes)

        assert refused.value.code == code


NUMBER = st.one_of(st.floats(), st.floats(0.0, 50.0))


@given(
    st.sampled_from(SERVICE_REFRIGERANTS),
    st.one_of(st.floats(), st.floats(0.0, 0.1)),
    NUMBER,
    st.one_of(st.none(), NUMBER),
    st.one_of(st.none(), st.floats(), st.floats(0.2, 1.8)),
)
def test_any_numbers_give_finite_limits_or_a_refusal(
    fluid: Fluid, volume: float, tare: float, content: Any, ratio: Any
) -> None:
    outcome = answer_or_refusal(
        lambda: cylinder(
            refrigerant=fluid,
            water_capacity_m3=volume,
            tare_kg=tare,
            content_kg=content,
            filling_ratio_kg_l=ratio,
        )
    )

    if not isinstance(outcome, Refusal):
        assert 0.0 < outcome.maximum_content_kg < math.inf
        assert outcome.liquid_full_temperature_k is None or 233.0 < outcome.liquid_full_temperature_k < 400.0
