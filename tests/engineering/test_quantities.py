"""What a person types becomes one meaning, or a question back; what is shown can be typed again."""

from __future__ import annotations

import json
import math

import pytest
from hypothesis import event, given
from hypothesis import strategies as st

from shopcool.engineering.errors import Refusal
from shopcool.engineering.quantities import (
    Kind,
    Quantity,
    atmosphere_from_altitude_pa,
    checked_atmosphere_pa,
    format_quantity,
    format_reading,
    from_unit,
    parse,
    to_unit,
    units_of,
)
from tests.engineering.checks import Check, assert_holds, each
from tests.engineering.quantity_checks import CHECKS, PSI_PA, typed


@each(CHECKS)
def test_the_world_outside_agrees(check: Check) -> None:
    assert_holds(check)


class TestNumbers:
    @pytest.mark.parametrize(
        ("text", "value"),
        [
            ("0,55", 0.55),
            ("0.55 ", 0.55),
            (",55", 0.55),
            (".55", 0.55),
            ("1.234,56", 1234.56),
            ("1,234.56", 1234.56),
            ("1 234,5".replace(" ", "\u202f"), 1234.5),
            ("1\u00a0234\u00a0567", 1234567.0),
            ("1\u2009234.5", 1234.5),
            ("1'234.5", 1234.5),
            ("1,234,567", 1234567.0),
            ("1.234.567", 1234567.0),
            ("1.234", 1.234),
            ("1234,567", 1234.567),
            ("0,550", 0.55),
            ("٠٫٥٥", 0.55),
            ("١٬٢٣٤", 1234.0),
            ("५५", 55.0),
            ("\u22125", -5.0),
            ("5e-1", 0.5),
            ("+7", 7.0),
        ],
    )
    def test_decimal_marks_groups_and_digits_of_any_script_are_read(self, text: str, value: float) -> None:
        assert typed(text, Kind.VOLTAGE).si == value

    @pytest.mark.parametrize(
        ("text", "choices"), [("1,234", ["1.234", "1234"]), ("12,500", ["12.500", "12500"])]
    )
    def test_a_comma_before_three_digits_is_asked_about(self, text: str, choices: list[str]) -> None:
        with pytest.raises(Refusal, match=f"can mean {choices[0]} or {choices[1]}") as asked:
            typed(f"{text} kg", Kind.MASS)

        assert asked.value.code == "ambiguous_thousands"
        assert asked.value.details["choices"] == choices

    def test_an_ordinary_space_between_digits_is_asked_about(self) -> None:
        with pytest.raises(Refusal, match="can be one number or two") as asked:
            typed("30 200 psi", Kind.PRESSURE)

        assert asked.value.code == "ambiguous_thousands"

    @pytest.mark.parametrize(
        "text",
        [
            "",
            "  ",
            "NaN",
            "sNaN",
            "inf",
            "-Infinity",
            "1e400",
            "-1e400",
            "1.2.3,4",
            "1,23,4",
            "--5",
            "abc",
            "1,2,3",
        ],
    )
    def test_what_is_no_finite_number_is_refused(self, text: str) -> None:
        with pytest.raises(Refusal, match="missing or not a number") as refused:
            typed(text, Kind.PRESSURE)

        assert refused.value.code == "not_a_number"

    def test_a_text_of_four_hundred_characters_is_refused(self) -> None:
        with pytest.raises(Refusal, match="too long for one reading"):
            typed("1" * 400, Kind.MASS)

    def test_a_superscript_is_not_a_digit(self) -> None:
        with pytest.raises(Refusal, match="not a unit known here"):
            typed("10²", Kind.MASS)


class TestPressures:
    @pytest.mark.parametrize(
        ("text", "expected_pa", "basis"),
        [
            ("120 psi", 101325.0 + 120 * PSI_PA, "gauge"),
            ("120 psig", 101325.0 + 120 * PSI_PA, "gauge"),
            ("14.7 psia", 14.7 * PSI_PA, "absolute"),
            ("2.1 bar(g)", 311325.0, "gauge"),
            ("2.1 barg", 311325.0, "gauge"),
            ("2,1 bar (a)", 210000.0, "absolute"),
            ("2.1 bar abs", 210000.0, "absolute"),
            ("20 inHg vac", 101325.0 - 20 * 3386.389, "vacuum"),
            ("20 inHg vacuum", 101325.0 - 20 * 3386.389, "vacuum"),
            ("-20 inHg", 101325.0 - 20 * 3386.389, "gauge"),
            ("-20 inHg vacuum", 101325.0 - 20 * 3386.389, "vacuum"),
            ("29.92 inHg abs", 29.92 * 3386.389, "absolute"),
            ("750 micron", 750 * 101325 / 760_000, "absolute"),
            ("750 microns", 750 * 101325 / 760_000, "absolute"),
            ("0.75 Torr", 0.75 * 101325 / 760, "absolute"),
            ("1 mbar", 100.0, "absolute"),
            ("100 Pa", 100.0, "absolute"),
            ("-93.3 kPa", 101325.0 - 93300.0, "gauge"),
            ("0.8 MPa", 901325.0, "gauge"),
            ("2.1", 311325.0, "gauge"),
        ],
    )
    def test_the_basis_is_what_the_text_says_or_what_the_gauge_shows(
        self, text: str, expected_pa: float, basis: str
    ) -> None:
        reading = typed(text, Kind.PRESSURE)

        assert reading.si == pytest.approx(expected_pa, rel=1e-12)
        assert (reading.basis, reading.typed) == (basis, text)

    def test_the_barometer_moves_a_gauge_reading_and_leaves_an_absolute_one(self) -> None:
        assert typed("2 bar", Kind.PRESSURE, atmosphere_pa=84_000.0).si == pytest.approx(284_000.0)
        assert typed("2 bar abs", Kind.PRESSURE, atmosphere_pa=84_000.0).si == pytest.approx(200_000.0)

    def test_a_bare_number_in_a_vacuum_unit_is_absolute(self) -> None:
        assert parse("750", Kind.PRESSURE, default_unit="micron").si == pytest.approx(99.99, rel=1e-3)

    def test_inches_of_mercury_without_a_word_are_asked_about(self) -> None:
        with pytest.raises(Refusal, match="20 inHg can be a vacuum or an absolute pressure") as asked:
            typed("20 inHg", Kind.PRESSURE)

        assert asked.value.code == "ambiguous_basis"
        assert typed("20 inHg", Kind.PRESSURE, default_basis="vacuum").basis == "vacuum"
        with pytest.raises(Refusal, match="20 inHg can be a vacuum"):
            parse("20", Kind.PRESSURE, default_unit="inHg")

    @pytest.mark.parametrize(
        ("millilitres", "shown"),
        [
            (2.5, "2.5 ml"),
            (5.0, "5 ml"),
            (12.46, "12.5 ml"),
            (0.04, "0 ml"),
            (99.96, "100 ml"),
            (236.6, "237 ml"),
        ],
    )
    def test_millilitres_of_a_syringe_keep_their_tenth(self, millilitres: float, shown: str) -> None:
        assert format_quantity(millilitres * 1e-6, Kind.VOLUME, "ml") == shown

    def test_a_vacuum_unit_is_converted_and_shown_absolute_by_itself(self) -> None:
        assert from_unit(750.0, "micron", Kind.PRESSURE) == pytest.approx(99.99, rel=1e-3)
        assert format_quantity(99.99, Kind.PRESSURE, "micron") == "750 micron"
        assert format_quantity(311325.0, Kind.PRESSURE, "bar") == "2.10 bar(g)"

    def test_an_absolute_sensor_and_a_gauge_beside_it_agree(self) -> None:
        """A scan tool shows 5.7 bar absolute, the gauge 4.7: one pressure; 1.2 absolute is nearly empty."""
        sensor, gauge = typed("5.7 bar abs", Kind.PRESSURE), typed("4.7 bar", Kind.PRESSURE)

        assert sensor.si == pytest.approx(gauge.si, abs=0.02e5)
        assert (
            format_quantity(typed("1.2 bar abs", Kind.PRESSURE).si, Kind.PRESSURE, "bar", digits=1)
            == "0.2 bar(g)"
        )

    def test_a_reading_is_shown_on_its_own_basis(self) -> None:
        assert format_reading(typed("20 inHg vac", Kind.PRESSURE)) == "20.0 inHg vacuum"
        assert format_reading(typed("20 inHg vac", Kind.PRESSURE), unit="bar") == "0.68 bar vacuum"
        assert format_reading(typed("OL 2.2 GΩ", Kind.RESISTANCE)) == "> 2.20 GΩ"
        assert format_reading(typed("OL", Kind.RESISTANCE)) == "OL"

    @pytest.mark.parametrize("text", ["-1.2 bar", "30 inHg vac", "-1 Pa", "-15 psig"])
    def test_less_than_nothing_is_refused(self, text: str) -> None:
        with pytest.raises(Refusal, match="below a perfect vacuum") as refused:
            typed(text, Kind.PRESSURE)

        assert refused.value.code == "below_perfect_vacuum"

    def test_a_barometer_in_hectopascals_is_noticed(self) -> None:
        with pytest.raises(Refusal, match="hPa entered as Pa"):
            checked_atmosphere_pa(1013.25)

    def test_a_small_m_before_pascal_is_asked_about(self) -> None:
        with pytest.raises(Refusal, match="write “MPa” with a capital M"):
            typed("0.8 mPa", Kind.PRESSURE)


class TestTemperatures:
    def test_a_reading_has_an_offset_and_a_difference_has_none(self) -> None:
        assert typed("30 °F", Kind.TEMPERATURE).si == pytest.approx(272.0389, abs=1e-4)
        assert typed("30 °F", Kind.TEMPERATURE_DIFFERENCE).si == pytest.approx(16.6667, abs=1e-4)
        assert typed("5 °C", Kind.TEMPERATURE_DIFFERENCE).si == 5.0

    def test_below_absolute_zero_is_refused(self) -> None:
        with pytest.raises(Refusal, match="below absolute zero"):
            typed("-300 °C", Kind.TEMPERATURE)


class TestOunces:
    def test_three_kinds_of_ounce_stay_apart(self) -> None:
        assert typed("1 US fl oz", Kind.VOLUME).si == 29.5735295625e-6
        assert typed("1 imp fl oz", Kind.VOLUME).si == 28.4130625e-6
        assert typed("1 oz", Kind.MASS).si == 0.028349523125

    @pytest.mark.parametrize("text", ["5 oz", "5 fl oz", "5 fl. oz."])
    def test_an_ounce_of_volume_is_asked_about(self, text: str) -> None:
        with pytest.raises(Refusal, match=r"write “US fl oz” .* or “imp fl oz”") as asked:
            typed(text, Kind.VOLUME)

        assert asked.value.code == "ambiguous_ounce"

    def test_published_ounces_are_not_always_the_published_grams(self) -> None:
        """A maker states 465 to 515 g as 16.5 to 18.1 oz, rounded inwards: the grams rule."""
        shown = [format_quantity(kilograms, Kind.MASS, "oz") for kilograms in (0.465, 0.515)]

        assert shown == ["16.40 oz", "18.17 oz"]

    def test_a_fluid_ounce_is_no_mass(self) -> None:
        with pytest.raises(Refusal, match="not a unit known here: use one of g, kg, oz"):
            typed("5 fl oz", Kind.MASS)


class TestResistances:
    @pytest.mark.parametrize(
        ("text", "ohm", "comparator", "over_range"),
        [
            ("> 2.2 GΩ", 2.2e9, ">", False),
            (">2.2 Gohm", 2.2e9, ">", False),
            ("≥ 550 MΩ", 5.5e8, ">", False),
            ("< 0.1 MΩ", 1e5, "<", False),
            ("0.5 Mohm", 5e5, "", False),
            ("0,5 M\u2126", 5e5, "", False),
            ("OL", 0.0, ">", True),
            ("O.L", 0.0, ">", True),
            ("OL 2.2 GΩ", 2.2e9, ">", True),
            ("OL > 550 MΩ", 5.5e8, ">", True),
        ],
    )
    def test_limits_and_over_range_are_not_values(
        self, text: str, ohm: float, comparator: str, over_range: bool
    ) -> None:
        reading = typed(text, Kind.RESISTANCE)

        assert (reading.si, reading.comparator, reading.over_range) == (ohm, comparator, over_range)

    def test_milliohm_and_megohm_are_never_confused(self) -> None:
        with pytest.raises(Refusal, match="write “MΩ” with a capital M"):
            typed("5 mohm", Kind.RESISTANCE)

    def test_a_negative_resistance_is_refused(self) -> None:
        with pytest.raises(Refusal, match="outside what is plausible"):
            typed("-5 MΩ", Kind.RESISTANCE)


class TestOtherKinds:
    @pytest.mark.parametrize(
        ("text", "kind", "si"),
        [
            ("500 V", Kind.VOLTAGE, 500.0),
            ("1.5 kV", Kind.VOLTAGE, 1500.0),
            ("30 min", Kind.DURATION, 1800.0),
            ("1:30", Kind.DURATION, 90.0),
            ("1:02:03", Kind.DURATION, 3723.0),
            ("98.5 %", Kind.FRACTION, 0.985),
            ("150 ppm", Kind.FRACTION, 150e-6),
            ("0.83 mA", Kind.CURRENT, 0.83e-3),
            ("1500 rpm", Kind.SPEED_RPM, 1500.0),
            ("8 ft", Kind.LENGTH, 2.4384),
            ("4.8 mm", Kind.LENGTH, 0.0048),
        ],
    )
    def test_units_are_read(self, text: str, kind: Kind, si: float) -> None:
        assert typed(text, kind).si == pytest.approx(si, rel=1e-12)

    def test_a_clock_reading_is_hours_where_hours_are_asked_for(self) -> None:
        assert parse("1:30", Kind.DURATION, default_unit="h").si == 5400.0

    def test_a_limit_is_refused_where_a_value_is_needed(self) -> None:
        with pytest.raises(Refusal, match="a value is needed"):
            typed("> 5 kg", Kind.MASS)

    @pytest.mark.parametrize("text", ["5500 g", "5.5 kg", "55"])
    def test_the_callers_limits_hold(self, text: str) -> None:
        with pytest.raises(Refusal, match="outside what is plausible here") as refused:
            parse(text, Kind.MASS, default_unit="kg", minimum=0.0, maximum=5.0)

        assert refused.value.code == "out_of_range"


class TestAtmosphere:
    def test_it_falls_with_altitude(self) -> None:
        altitudes = range(-500, 5501, 250)
        pressures = [atmosphere_from_altitude_pa(altitude) for altitude in altitudes]

        assert pressures == sorted(pressures, reverse=True)

    def test_a_mountain_no_workshop_stands_on_is_refused(self) -> None:
        with pytest.raises(Refusal, match="not one of a workshop"):
            atmosphere_from_altitude_pa(8848.0)


FINITE = st.floats(-1e9, 1e9)


@given(st.sampled_from([(kind, unit) for kind in Kind for unit in units_of(kind)]), FINITE)
def test_a_number_survives_the_way_to_si_and_back(pair: tuple[Kind, str], value: float) -> None:
    kind, unit = pair
    try:
        si = from_unit(value, unit, kind)
    except Refusal:
        return

    back = to_unit(si, unit, kind)

    scale = max(
        abs(value), 500.0, 101325.0 / from_unit(1.0, unit, Kind.PRESSURE_DIFFERENCE) if "PRESS" in kind else 0
    )
    assert math.isclose(back, value, rel_tol=1e-12, abs_tol=1e-12 * scale)


@given(
    st.sampled_from([(kind, unit) for kind in Kind for unit in units_of(kind)]),
    FINITE,
    st.sampled_from(["gauge", "absolute", "vacuum"]),
)
def test_what_is_shown_can_be_typed_again(pair: tuple[Kind, str], value: float, basis: str) -> None:
    kind, unit = pair
    try:
        si = from_unit(value, unit, kind, basis=basis)
        shown = format_quantity(si, kind, unit, basis=basis)
        read = parse(shown, kind, default_unit=unit)
    except Refusal as refused:
        event(refused.code)
        return

    again = format_quantity(read.si, kind, read.unit, basis=read.basis)
    assert again == shown


@given(st.text(max_size=80), st.sampled_from(list(Kind)))
def test_any_text_gives_a_reading_or_a_refusal(text: str, kind: Kind) -> None:
    try:
        reading = typed(text, kind)
    except Refusal:
        return

    assert math.isfinite(reading.si)
    assert reading.typed == text
    assert Quantity.from_record(json.loads(json.dumps(reading.as_record(), allow_nan=False))) == reading
    assert format_reading(reading)


@given(
    st.from_regex(
        r"[<>]? ?-?[0-9.,' ]{0,8}(e-?[0-9]{1,3})? ?(psi|bar|inHg|MΩ|oz|°F|min|mbar)?( ?(vac|abs|\(g\)))?",
        fullmatch=True,
    )
)
def test_texts_close_to_readings_give_a_reading_or_a_refusal(text: str) -> None:
    for kind in (Kind.PRESSURE, Kind.RESISTANCE, Kind.VOLUME):
        test_any_text_gives_a_reading_or_a_refusal.hypothesis.inner_test(text, kind)  # type: ignore[attr-defined]


def test_an_incomplete_record_is_refused() -> None:
    with pytest.raises(Refusal, match="stored reading is incomplete"):
        Quantity.from_record({"kind": "MASS", "si": 1.0})
