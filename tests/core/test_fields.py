"""Quantities at the edge: the form and the serializer read alike, and ask instead of guessing."""

from __future__ import annotations

import math
from typing import Any

import pytest
from django import forms
from django.http import QueryDict
from rest_framework import serializers

from shopcool.core.errors import DomainError
from shopcool.core.fields import QuantityField, QuantitySerializerField
from shopcool.core.forms import add_domain_error
from shopcool.core.quantities import exact_quantity, stored_quantity, stored_text
from shopcool.engineering.errors import Refusal
from shopcool.engineering.quantities import Kind, Quantity, from_unit, parse, units_of

CHARGE: dict[str, Any] = {"kind": Kind.MASS, "default_unit": "kg", "minimum": 0.05, "maximum": 30.0}


class ChargeForm(forms.Form):
    charge = QuantityField(required=False, **CHARGE)


class ChargeSerializer(serializers.Serializer[Any]):
    charge = QuantitySerializerField(**CHARGE)


def through_form(charge: str, unit: str = "") -> Quantity | None:
    form = ChargeForm(QueryDict(f"charge={charge}&charge_unit={unit}"))
    assert form.is_valid(), form.errors
    found: Quantity | None = form.cleaned_data["charge"]
    return found


def through_serializer(charge: Any) -> Quantity:
    serializer = ChargeSerializer(data={"charge": charge})
    assert serializer.is_valid(), serializer.errors
    found: Quantity = serializer.validated_data["charge"]
    return found


class TestBothDoors:
    # NIST SP 811:2008, appendix B.8: 1 lb = 0.45359237 kg, 1 oz = 0.028349523125 kg, exact.
    @pytest.mark.parametrize(
        ("typed", "charge_kg"),
        [
            ("0,55", 0.55),
            ("0.55 ", 0.55),
            (",55", 0.55),
            ("0,55 kg", 0.55),
            ("550 g", 0.55),
            ("\u0660\u066b\u0665\u0665", 0.55),
            ("1.25 lb", 0.5669904625),
            ("20 oz", 0.5669904625),
        ],
    )
    def test_read_the_same_text_as_the_same_mass(self, typed: str, charge_kg: float) -> None:
        for reading in (through_form(typed), through_serializer(typed)):
            assert reading is not None
            assert reading.si == pytest.approx(charge_kg)
            assert reading.typed.strip() == typed.strip()

    @pytest.mark.parametrize(
        ("typed", "code", "sentence"),
        [
            ("NaN", "not_a_number", "not a number"),
            ("sNaN", "not_a_number", "not a number"),
            ("inf", "not_a_number", "not a number"),
            ("-Infinity", "not_a_number", "not a number"),
            ("1e400", "not_a_number", "not a number"),
            ("about half", "not_a_number", "not a number"),
            ("1,234", "ambiguous_thousands", "1,234.* can mean 1.234 or 1234"),
            (
                "55",
                "out_of_range",
                r"“55” is not plausible: 0\.050 kg to 30\.000 kg\. Check",
            ),
            ("550", "out_of_range", "“550” is not plausible"),
            ("-0.5", "out_of_range", "“-0.5” is not plausible"),
            ("0.55 bar", "unknown_unit", "“bar” is not a unit known here"),
            ("0,55 " + "0" * 400, "too_long", "too long"),
        ],
    )
    def test_refuse_the_same_text_with_the_same_code(self, typed: str, code: str, sentence: str) -> None:
        form = ChargeForm({"charge": typed})
        serializer = ChargeSerializer(data={"charge": typed})

        assert not form.is_valid()
        assert not serializer.is_valid()
        (form_error,) = form.errors.as_data()["charge"]
        (serializer_error,) = serializer.errors["charge"]
        assert form_error.code == serializer_error.code == code
        for said in (form_error.message, str(serializer_error)):
            with pytest.raises(ValueError, match=sentence):
                raise ValueError(said)


class TestForm:
    def test_reads_the_unit_chosen_beside_a_bare_number(self) -> None:
        reading = through_form("550", unit="g")

        assert reading is not None
        assert (reading.si, reading.unit) == (pytest.approx(0.55), "g")

    def test_lets_a_typed_unit_win_over_the_chosen_one(self) -> None:
        reading = through_form("0,55 kg", unit="g")

        assert reading is not None
        assert reading.si == pytest.approx(0.55)

    def test_takes_nothing_typed_as_unknown_and_never_as_zero(self) -> None:
        assert through_form("  ", unit="g") is None

    def test_asks_for_a_required_value(self) -> None:
        form = ChargeForm({"charge": "", "charge_unit": "g"})
        form.fields["charge"].required = True

        assert not form.is_valid()
        assert form.errors["charge"] == ["This field is required."]

    def test_keeps_what_was_typed_beside_its_error(self) -> None:
        form = ChargeForm({"charge": "1,234", "charge_unit": "oz"})

        assert not form.is_valid()
        shown = str(form["charge"])
        assert 'value="1,234"' in shown
        assert '<option value="oz" selected>' in shown

    def test_opens_the_keypad_and_shows_a_stored_reading_as_it_was_typed(self) -> None:
        form = ChargeForm(initial={"charge": stored_quantity("17.3 oz", Kind.MASS)})

        shown = str(form["charge"])

        assert 'inputmode="decimal"' in shown
        assert 'value="17.3"' in shown
        assert '<option value="oz" selected>' in shown

    def test_escapes_what_was_typed(self) -> None:
        form = ChargeForm({"charge": '"><script>', "charge_unit": '"><script>'})

        assert "<script>" not in str(form["charge"])

    def test_refuses_an_unknown_chosen_unit(self) -> None:
        form = ChargeForm({"charge": "1", "charge_unit": "stone"})

        assert not form.is_valid()
        assert "“stone” is not a unit known here" in form.errors["charge"][0]

    def test_shows_a_domain_error_beside_the_field_it_blames(self) -> None:
        form = ChargeForm({"charge": "1"})
        form.is_valid()

        add_domain_error(form, DomainError("Too much for this car.", code="charge", field="charge"))
        add_domain_error(form, Refusal("elsewhere", "Not here.", field="no_such_field"))

        assert form.errors["charge"] == ["Too much for this car."]
        assert form.errors.as_data()["charge"][0].code == "charge"
        assert form.non_field_errors() == ["Not here."]


class TestSerializer:
    @pytest.mark.parametrize(
        ("sent", "charge_kg"),
        [
            (0.55, 0.55),
            (1, 1.0),
            (1.234, 1.234),
            ({"value": "0,55"}, 0.55),
            ({"value": 550, "unit": "g"}, 0.55),
            ({"value": "0,55 kg", "unit": "kg"}, 0.55),
        ],
    )
    def test_reads_text_number_and_object(self, sent: Any, charge_kg: float) -> None:
        assert through_serializer(sent).si == pytest.approx(charge_kg)

    @pytest.mark.parametrize(
        ("sent", "code"),
        [
            (True, "not_a_number"),
            (None, "null"),
            ([0.55], "not_a_number"),
            (float("nan"), "not_a_number"),
            (float("inf"), "not_a_number"),
            ({"value": {"value": 1}}, "not_a_number"),
            ({"unit": "kg"}, "unknown_record"),
            ({"value": "0,55", "si": 550}, "unknown_record"),
            ({"value": "550 g", "unit": "kg"}, "unit_twice"),
        ],
    )
    def test_refuses_anything_else_under_the_name_of_the_field(self, sent: Any, code: str) -> None:
        serializer = ChargeSerializer(data={"charge": sent})

        assert not serializer.is_valid()
        assert [error.code for error in serializer.errors["charge"]] == [code]

    def test_reads_a_basis_and_answers_with_what_was_typed(self) -> None:
        field = QuantitySerializerField(kind=Kind.PRESSURE, default_unit="bar")

        reading = field.run_validation({"value": "20", "unit": "inHg", "basis": "vacuum"})

        # NIST SP 811:2008: 1 conventional inch of mercury (0 °C) = 3386.389 Pa; 101325 - 20 * 3386.389 Pa.
        assert reading.si == pytest.approx(33597.2, abs=0.1)
        assert field.to_representation(reading) == {
            "kind": "PRESSURE",
            "si": reading.si,
            "typed": "20",
            "unit": "inHg",
            "basis": "vacuum",
            "comparator": "",
            "over_range": False,
        }


class TestStoredText:
    def test_keeps_the_unit_that_the_field_gave(self) -> None:
        assert stored_text(through_form("450", unit="g")) == "450 g"

    def test_means_the_same_whatever_the_shop_prefers_later(self) -> None:
        text = stored_text(through_form("16.4", unit="oz"))

        again = stored_quantity(text, Kind.MASS)

        assert again is not None
        assert again.si == pytest.approx(0.46493, abs=1e-5)

    def test_is_empty_for_nothing(self) -> None:
        assert stored_text(None) == ""
        assert stored_quantity("", Kind.MASS) is None

    def test_refuses_a_text_longer_than_its_column(self) -> None:
        with pytest.raises(Refusal, match="too long for one reading"):
            stored_text(through_form("0.5" + "0" * 45))

    def test_keeps_a_unit_that_ends_in_a_raised_digit(self) -> None:
        typed = parse("120 cm³", Kind.VOLUME, default_unit="ml")

        assert stored_quantity(stored_text(typed), Kind.VOLUME) == typed


class TestExactQuantity:
    @pytest.mark.parametrize(("kind", "unit"), [(kind, unit) for kind in Kind for unit in units_of(kind)])
    def test_means_to_the_last_bit_what_it_was_made_from(self, kind: Kind, unit: str) -> None:
        for number in (0.1, 1 / 3, 98.0, 1609.344):
            si = from_unit(number, unit, kind, basis="absolute" if kind is Kind.PRESSURE else "")
            quantity = exact_quantity(si, kind, unit)

            read = parse(quantity.typed, kind, default_unit=unit, default_basis="absolute", maximum=math.inf)
            assert read.si == si

    def test_is_as_short_as_it_can_be(self) -> None:
        """NIST SP 811:2008: 1 ft = 0.3048 m, exact."""
        assert exact_quantity(0.98, Kind.FRACTION, "%").typed == "98"
        assert exact_quantity(5280 * 0.3048, Kind.LENGTH, "m").typed == "1609.344"
