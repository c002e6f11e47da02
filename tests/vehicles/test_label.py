"""The charge as a label prints it: grams rule, second units are compared and never overwritten."""

from __future__ import annotations

import pytest

from shopcool.engineering.errors import Refusal
from shopcool.vehicles.label import parse_label_charge


class TestParseLabelCharge:
    @pytest.mark.parametrize(
        ("text", "charge_kg", "tolerance_kg"),
        [
            ("550", 0.55, None),
            ("0,55 kg", 0.55, None),
            (",55 kg", 0.55, None),
            ("490 ± 25 g", 0.49, 0.025),
            ("490 g +/- 25", 0.49, 0.025),
            ("0,55 kg ± 20 g", 0.55, 0.02),
            ("550 g ± 5 %", 0.55, 0.0275),
            ("465–515 g", 0.49, 0.025),
            ("465 g to 515 g", 0.49, 0.025),
            ("0.465-0.515 kg", 0.49, 0.025),
            # NIST SP 811:2008: 1 lb = 0.45359237 kg.
            ("1.5 lb", 0.680388555, None),
        ],
    )
    def test_reads_value_tolerance_and_range(
        self, text: str, charge_kg: float, tolerance_kg: float | None
    ) -> None:
        label = parse_label_charge(text, default_unit="g")

        assert label.charge_kg == pytest.approx(charge_kg)
        assert label.tolerance_kg == (None if tolerance_kg is None else pytest.approx(tolerance_kg))
        assert label.notices == ()

    def test_warns_where_printed_ounces_are_not_the_printed_grams(self) -> None:
        # NIST SP 811:2008: 1 oz = 28.349523125 g, so 465 g = 16.40 oz and 515 g = 18.17 oz.
        label = parse_label_charge("465–515 g {16.5–18.1 oz}", default_unit="g")

        assert (label.charge_kg, label.tolerance_kg) == (pytest.approx(0.49), pytest.approx(0.025))
        assert label.typed == "465–515 g {16.5–18.1 oz}"
        assert [notice.message for notice in label.notices] == [
            "The label says 465–515 g, which is 16.40 oz–18.17 oz, and also 16.5–18.1 oz. 465–515 g rules."
        ]

    @pytest.mark.parametrize(
        "text", ["465–515 g {16.4–18.2 oz}", ".96 kg = 34 oz = 2.13 lb", "550 g / 19.4 oz"]
    )
    def test_takes_the_rounding_of_the_print_for_agreement(self, text: str) -> None:
        assert parse_label_charge(text, default_unit="g").notices == ()

    def test_lets_grams_rule_wherever_they_stand(self) -> None:
        label = parse_label_charge("16.5–18.1 oz (465–515 g)", default_unit="oz")

        assert label.charge_kg == pytest.approx(0.49)
        assert "465–515 g rules" in label.notices[0].message

    def test_keeps_the_unit_of_a_bare_number_with_it(self) -> None:
        assert parse_label_charge(" 490 +/- 25 ", default_unit="g").typed == "490 +/- 25 g"
        assert parse_label_charge("17.3", default_unit="oz").typed == "17.3 oz"

    def test_means_the_same_when_it_is_read_again(self) -> None:
        once = parse_label_charge("490 ± 25", default_unit="g")

        assert parse_label_charge(once.typed, default_unit="kg") == once

    def test_asks_about_the_charge_of_a_bus(self) -> None:
        (notice,) = parse_label_charge("5,5 kg", default_unit="g").notices

        assert notice.code == "unusual_charge"

    @pytest.mark.parametrize(
        ("text", "code", "sentence"),
        [
            ("1,234", "ambiguous_thousands", "1,234.* can mean 1.234 or 1234"),
            ("0,55", "out_of_range", r"“0,55” is not plausible: 50 g to 30000 g\. Check number and unit\."),
            ("55 kg", "out_of_range", "“55 kg” is not plausible"),
            ("550 kg", "out_of_range", "“550 kg” is not plausible"),
            ("-550", "out_of_range", "“-550” is not plausible"),
            ("515–465 g", "range", "“515–465 g” runs backwards"),
            ("490 ± 600 g", "range", "the tolerance must be smaller than the charge"),
            ("NaN", "not_a_number", "missing or not a number"),
            ("1e400 g", "not_a_number", "missing or not a number"),
            ("± 5", "not_a_number", "missing or not a number"),
            ("{}", "not_a_number", "The charge is missing"),
            ("550 bar", "unknown_unit", "“bar” is not a unit known here"),
            ("550 " + "g" * 400, "too_long", "too long for one label charge"),
        ],
    )
    def test_refuses_what_no_label_says(self, text: str, code: str, sentence: str) -> None:
        with pytest.raises(Refusal, match=sentence) as refused:
            parse_label_charge(text, default_unit="g")
        assert refused.value.code == code
