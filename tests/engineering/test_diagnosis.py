"""Diagnosis ranks causes with evidence for and against, and asks for the measurement that separates them."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shopcool.engineering.diagnosis import (
    Cause,
    Drive,
    Measured,
    Metering,
    Mode,
    Observations,
    Port,
    Sign,
    compressor_gate,
    diagnose,
)
from shopcool.engineering.diagnosis.causes import HIGH, NORMAL, Fact
from shopcool.engineering.diagnosis.observations import LIMITS, levels_of
from shopcool.engineering.errors import Refusal
from tests.engineering.checks import Check, assert_holds, each
from tests.engineering.checks import Kind as CheckKind
from tests.engineering.vehicle_readings import (
    AIR_CONTAMINATED,
    AIR_FREE,
    BOTH_SEVENTY,
    DEEP_VACUUM,
    FLOODED_HIGH_SIDE,
    ORDINARY,
    UNNOTED,
    first,
    pattern,
    place,
    psig,
    running,
    score,
)


def check(
    quantity: str, ours: Callable[[], float], reference: float, source: str, kind: CheckKind = "published"
) -> Check:
    return Check("diagnosis", quantity, ours, reference, 2e-3, source, kind)


def condensing_c(seen: Observations) -> float:
    assert seen.condensing_k is not None
    return seen.condensing_k.value - 273.15


def ordinary_share(fact: Fact, value: float) -> float:
    return levels_of(Measured(value, 0.5), LIMITS[fact])[NORMAL]


SLOW_FAN = replace(FLOODED_HIGH_SIDE, signs={Sign.CONDENSER_FAN_PROVEN: False})
CHECKS = (
    check(
        "place of a restriction when the low side is in vacuum",
        lambda: place(diagnose(DEEP_VACUUM, ORDINARY), Cause.METERING_STARVED, Cause.RESTRICTION),
        1.0,
        "trade association's repair report, debris found in the valve",
    ),
    check(
        "place of a compressor not driven when both gauges read 70 psi",
        lambda: place(diagnose(BOTH_SEVENTY, ORDINARY), Cause.NOT_DRIVEN),
        1.0,
        "trade journal's repair report, compressor not pumping",
    ),
    check(
        "place of condenser airflow when the fan turns slowly",
        lambda: place(diagnose(SLOW_FAN, ORDINARY), Cause.CONDENSER_AIRFLOW),
        1.0,
        "trade association's repair report, burnt fan relay",
    ),
    check(
        "ordinary share of a condenser 19 K above ambient",
        lambda: ordinary_share(Fact.APPROACH, 19.0),
        1.0,
        "vehicle service manual, 19 to 22 K at 50 km/h",
    ),
    check(
        "ordinary share of vent air 6 K above the evaporating temperature",
        lambda: ordinary_share(Fact.VENT, 6.0),
        1.0,
        "vehicle service manual, 2 to 6 K",
    ),
    check(
        "condensing temperature at 400 psi, °C",
        lambda: condensing_c(AIR_CONTAMINATED),
        83.9,
        "saturation of R-134a",
        "arithmetic",
    ),
)


@each(CHECKS)
def test_it_agrees_with_the_world_outside(check: Check) -> None:
    assert_holds(check)


SYNTHETIC = {
    Cause.UNDERCHARGE: pattern(4, 22, 0, -12, 15),
    Cause.OVERCHARGE: pattern(36, 0, 20, 16, 14),
    Cause.OTHER_GAS: pattern(36, 7, 20, 16, 14),
    Cause.CONDENSER_AIRFLOW: pattern(36, 7, 7, 7, 14),
    Cause.METERING_STARVED: pattern(4, 22, 20, -12, 15),
    Cause.RESTRICTION: pattern(18, 22, 20, -12, 15),
    Cause.METERING_OPEN: pattern(18, 0, 0, 16, 14),
    Cause.WEAK_COMPRESSOR: pattern(4, 22, 7, 16, 14, ratio=1.7),
    Cause.EVAPORATOR_AIRFLOW: pattern(4, 0, 7, -12, 4),
    Cause.BLEND_DOOR: pattern(18, 7, 7, 4, 14),
    Cause.NOTHING_FOUND: pattern(18, 7, 7, 4, 4),
}


@pytest.mark.parametrize("cause", SYNTHETIC)
def test_eleven_textbook_patterns_are_ranked_first(cause: Cause) -> None:
    assert first(diagnose(SYNTHETIC[cause], ORDINARY)) is cause


class TestLowSideInVacuum:
    def test_a_restriction_leads_and_the_compressor_is_last(self) -> None:
        result = diagnose(DEEP_VACUUM, ORDINARY)

        assert first(result) is Cause.METERING_STARVED
        assert result.causes[1].cause is Cause.RESTRICTION
        assert {entry.cause for entry in result.causes[-2:]} == {Cause.WEAK_COMPRESSOR, Cause.NOT_DRIVEN}

    def test_a_nearly_empty_circuit_looks_alike_so_the_charge_is_weighed_first(self) -> None:
        result = diagnose(DEEP_VACUUM, ORDINARY)

        assert result.next_measurement.code == "recover_and_weigh"
        assert "nearly_empty" in {notice.code for notice in result.warnings}

    def test_after_weighing_the_liquid_line_is_next(self) -> None:
        weighed = replace(DEEP_VACUUM, charge_share=Measured(0.98, 0.02))

        assert diagnose(weighed, ORDINARY).next_measurement.code == "liquid_line"

    def test_swinging_is_ice_and_steady_is_not(self) -> None:
        swinging = Observations(signs={Sign.LOW_SIDE_SWINGS: True})

        assert first(diagnose(swinging, ORDINARY)) is Cause.ICE_AT_METERING
        assert (
            score(
                diagnose(replace(DEEP_VACUUM, signs={Sign.LOW_SIDE_SWINGS: False}), ORDINARY),
                Cause.ICE_AT_METERING,
            )
            < 0.5
        )

    def test_a_port_at_the_accumulator_expects_another_picture(self) -> None:
        ordinary_low_side = pattern(18, 7, 20, 4, 15)
        near = diagnose(ordinary_low_side, ORDINARY)
        far = diagnose(ordinary_low_side, replace(ORDINARY, port=Port.AT_ACCUMULATOR))

        assert score(far, Cause.RESTRICTION) > score(near, Cause.RESTRICTION)
        assert "port" in {notice.code for notice in far.warnings}


class TestHighSideHigh:
    HIGH_SIDE = (Cause.OTHER_GAS, Cause.OVERCHARGE, Cause.CONDENSER_AIRFLOW)

    def test_air_overcharge_and_airflow_are_listed_together(self) -> None:
        result = diagnose(AIR_CONTAMINATED, UNNOTED)

        assert {entry.cause for entry in result.causes[:3]} == set(self.HIGH_SIDE)
        assert result.next_measurement.code in ("static_test", "condenser_fan")
        assert "no_ambient" in {notice.code for notice in result.warnings}

    def test_the_air_free_car_is_ordinary(self) -> None:
        assert first(diagnose(AIR_FREE, UNNOTED)) is Cause.NOTHING_FOUND

    def test_a_static_excess_or_an_identifier_decides_for_gas(self) -> None:
        static = replace(AIR_CONTAMINATED, static_excess_pa=Measured(120e3, 10e3))
        identified = replace(AIR_CONTAMINATED, signs={Sign.OTHER_GAS_IDENTIFIED: True})

        assert first(diagnose(static, UNNOTED)) is Cause.OTHER_GAS
        assert first(diagnose(identified, UNNOTED)) is Cause.OTHER_GAS

    def test_high_high_with_an_ordinary_low_side_asks_for_airflow_first(self) -> None:
        result = diagnose(FLOODED_HIGH_SIDE, ORDINARY)

        assert first(result) is Cause.CONDENSER_AIRFLOW
        assert result.next_measurement.code == "condenser_fan"

    def test_wetting_the_condenser_raises_airflow_and_overcharge_equally(self) -> None:
        plain = diagnose(FLOODED_HIGH_SIDE, ORDINARY)
        wetted = diagnose(replace(FLOODED_HIGH_SIDE, signs={Sign.WETTING_HELPS: True}), ORDINARY)

        def added(cause: Cause) -> float:
            return math.atanh(score(wetted, cause)) - math.atanh(score(plain, cause))

        assert added(Cause.CONDENSER_AIRFLOW) == pytest.approx(added(Cause.OVERCHARGE))
        assert added(Cause.OTHER_GAS) == 0

    def test_more_than_400_psi_is_not_a_closed_valve(self) -> None:
        result = diagnose(running(psig(40), psig(410)), ORDINARY)

        assert score(result, Cause.METERING_STARVED) < 0
        assert first(result) in self.HIGH_SIDE

    def test_pressures_never_lead_to_taking_or_adding_refrigerant(self) -> None:
        result = diagnose(AIR_CONTAMINATED, UNNOTED)

        assert "weigh" in {notice.code for notice in result.warnings}


class TestTheCompressor:
    def test_equal_pressures_mean_nothing_is_pumped_and_the_drive_comes_first(self) -> None:
        result = diagnose(BOTH_SEVENTY, ORDINARY)

        assert [entry.cause for entry in result.causes[:2]] == [Cause.NOT_DRIVEN, Cause.WEAK_COMPRESSOR]
        assert "at_rest" in {notice.code for notice in result.warnings}
        assert result.next_measurement.code == "drive"

    @pytest.mark.parametrize("drive", [Drive.VARIABLE_BELT, Drive.ELECTRIC])
    def test_a_controlled_one_is_not_judged_before_the_repeat_at_reduced_load(self, drive: Drive) -> None:
        weak = SYNTHETIC[Cause.WEAK_COMPRESSOR]
        before = diagnose(weak, replace(ORDINARY, drive=drive))
        after = diagnose(
            weak, replace(ORDINARY, drive=drive, reduced_load_repeat=True, blower_at_maximum=False)
        )

        assert before.causes[-1].cause is Cause.WEAK_COMPRESSOR
        assert "blower at about 40 %" in before.causes[-1].withheld
        assert first(after) is Cause.WEAK_COMPRESSOR

    def test_the_charge_is_weighed_before_it_is_suspected(self) -> None:
        result = diagnose(SYNTHETIC[Cause.WEAK_COMPRESSOR], ORDINARY)

        assert result.next_measurement.code == "recover_and_weigh"

    def test_replacing_it_is_out_of_reach_until_charge_and_airflow_are_on_record(self) -> None:
        closed = compressor_gate(recovered_kg=None, label_kg=0.68, airflow_checked=False)
        opened = compressor_gate(recovered_kg=0.51, label_kg=0.68, airflow_checked=True)

        assert [notice.code for notice in closed.missing] == ["recovered", "airflow"]
        assert not closed.is_open
        assert (opened.is_open, opened.charge_share) == (True, pytest.approx(0.75))

    def test_the_gate_refuses_impossible_masses(self) -> None:
        with pytest.raises(Refusal, match="positive and at most 50 kg"):
            compressor_gate(recovered_kg=-1, label_kg=0.5, airflow_checked=True)


class TestEvidence:
    def test_each_cause_shows_what_speaks_for_and_against_it(self) -> None:
        leader = diagnose(SYNTHETIC[Cause.RESTRICTION], ORDINARY).causes[0]

        superheat = next(piece for piece in leader.evidence_for if piece.sentence == "superheat: high")
        assert superheat.limit == 15.0
        assert superheat.source.startswith("textbook judgement")
        assert leader.evidence_against == ()
        assert all(-1 < entry.score < 1 for entry in diagnose(DEEP_VACUUM, ORDINARY).causes)

    def test_a_weighed_charge_outweighs_pressures(self) -> None:
        pressures = SYNTHETIC[Cause.METERING_STARVED]
        weighed = replace(pressures, charge_share=Measured(0.4, 0.02))

        assert first(diagnose(weighed, ORDINARY)) is Cause.UNDERCHARGE

    def test_a_value_within_its_uncertainty_of_a_limit_says_half(self) -> None:
        assert levels_of(Measured(15.0, 1.0), LIMITS[Fact.SUPERHEAT])[HIGH] == 0.5

    def test_an_orifice_widens_what_is_ordinary(self) -> None:
        seen = pattern(18, 20, 1, 4, 4)
        valve, orifice = (
            diagnose(seen, replace(ORDINARY, metering=kind))
            for kind in (Metering.EXPANSION_VALVE, Metering.ORIFICE)
        )

        assert score(orifice, Cause.NOTHING_FOUND) > score(valve, Cause.NOTHING_FOUND) + 0.1
        assert "metering" in {notice.code for notice in orifice.warnings}

    def test_battery_cooling_does_not_use_the_vent(self) -> None:
        result = diagnose(SYNTHETIC[Cause.BLEND_DOOR], replace(ORDINARY, mode=Mode.BATTERY_COOLING))

        assert first(result) is Cause.NOTHING_FOUND


@given(st.floats(2, 40), st.floats(2, 40))
def test_more_superheat_never_speaks_less_for_undercharge(first_k: float, second_k: float) -> None:
    less, more = sorted((first_k, second_k))

    def undercharge(superheat: float) -> float:
        return score(diagnose(pattern(18, superheat, 7, 4, 4), ORDINARY), Cause.UNDERCHARGE)

    assert undercharge(less) <= undercharge(more)
