"""A vehicle identification number is checked without turning a vehicle away."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shopcool.engineering.errors import Refusal
from shopcool.engineering.vin import Verdict, check_digit, check_vin, normalise_vin
from tests.engineering.checks import Check, assert_holds, each

# 49 CFR 565.15, table VI.
REGULATION_EXAMPLE = "1G4AH59H45G118341"
PERMITTED = "ABCDEFGHJKLMNPRSTUVWXYZ0123456789"


CHECKS: tuple[Check, ...] = tuple(
    Check(
        "vin",
        f"check digit of {vin}",
        lambda vin=vin: "0123456789X".index(check_digit(vin)),
        value,
        0.5,
        source,
        kind,
        absolute=True,
    )
    for vin, value, source, kind in (
        (REGULATION_EXAMPLE, 4.0, "49 CFR 565.15, table VI", "published"),
        ("1J9RP1A36A1644345", 6.0, "outline of the agency for the same rule", "published"),
        ("1" * 17, 1.0, "the sum of all weights is 89 = 8 · 11 + 1", "arithmetic"),
    )
)


@each(CHECKS)
def test_the_world_outside_agrees(check: Check) -> None:
    assert_holds(check)


class TestTheCheckDigit:
    @pytest.mark.parametrize(
        "vin",
        [
            REGULATION_EXAMPLE,
            "1J9RP1A36A1644345",  # example of the agency's outline of the same rule
        ],
    )
    def test_it_agrees_with_the_published_examples(self, vin: str) -> None:
        assert check_digit(vin) == vin[8]
        assert check_vin(vin).verdict is Verdict.VALID

    def test_a_wrong_one_warns_and_lets_the_vehicle_in(self) -> None:
        result = check_vin(REGULATION_EXAMPLE[:8] + "5" + REGULATION_EXAMPLE[9:])

        assert result.verdict is Verdict.CHECK_DIGIT_DIFFERS
        assert result.accepted
        assert "Position 9 should be 4, not 5" in result.notices[0].message

    @given(st.text(PERMITTED, min_size=17, max_size=17), st.integers(0, 16), st.sampled_from(PERMITTED))
    def test_one_wrong_character_is_found_unless_its_value_is_equal(
        self, vin: str, place: int, other: str
    ) -> None:
        vin = vin[:8] + check_digit(vin) + vin[9:]
        changed = vin[:place] + other + vin[place + 1 :]

        same_value = check_digit("A" * place + other + "A" * (16 - place)) == check_digit(
            "A" * place + vin[place] + "A" * (16 - place)
        )
        if place != 8:
            assert (check_digit(changed) == vin[8]) == same_value


class TestOtherNumbers:
    def test_a_european_number_passes_with_a_note(self) -> None:
        result = check_vin("WXXZZZ5NZEW000123")

        assert (result.verdict, result.accepted) == (Verdict.CHECK_DIGIT_NOT_USED, True)
        assert "not built for North America" in result.notices[0].message

    def test_seventeen_ones_have_a_right_check_digit_and_warn_all_the_same(self) -> None:
        assert check_digit("1" * 17) == "1"
        assert check_vin("1" * 17).verdict is Verdict.REPEATED

    def test_small_letters_spaces_and_hyphens_are_tidied(self) -> None:
        result = check_vin(" 1g4ah59h4-5g11 8341 ")

        assert (result.vin, result.typed) == (REGULATION_EXAMPLE, " 1g4ah59h4-5g11 8341 ")

    @pytest.mark.parametrize(("letter", "digit"), [("O", "0"), ("I", "1"), ("Q", "0")])
    def test_unused_letters_give_a_suggestion_and_are_never_replaced_silently(
        self, letter: str, digit: str
    ) -> None:
        vin = REGULATION_EXAMPLE[:-1] + letter

        result = check_vin(vin)

        assert (result.vin, result.suggestion) == (vin, REGULATION_EXAMPLE[:-1] + digit)
        assert (result.verdict, result.accepted) == (Verdict.UNUSED_LETTERS, False)

    def test_a_short_number_needs_a_reason(self) -> None:
        with pytest.raises(Refusal, match="10 characters instead of 17: write why"):
            check_vin("AB12345678")

        assert check_vin("AB12345678", reason="built in 1967").verdict is Verdict.OLD_NUMBER

    @pytest.mark.parametrize(
        ("text", "sentence"),
        [
            ("A" * 400, "too long"),
            (REGULATION_EXAMPLE + "1", "18 characters"),
            ("AB1", "3 characters"),
            ("", "0 characters"),
            ("1G4AH59H45G11834Ä", "only letters A to Z and digits"),
            ("1G4AH59H45G11834;", "only letters A to Z and digits"),
        ],
    )
    def test_what_is_no_number_is_refused(self, text: str, sentence: str) -> None:
        with pytest.raises(Refusal, match=sentence):
            check_vin(text, reason="old")


class TestModelYears:
    def test_position_seven_tells_the_cycle(self) -> None:
        assert check_vin(REGULATION_EXAMPLE).model_years == (2005,)  # table VII: 5, numeric position 7
        assert check_vin("1J9RP1A36A1644345").model_years == (2010,)  # A, alphabetic position 7

    def test_a_doubtful_number_keeps_both_years(self) -> None:
        assert check_vin("1J9RP1A37A1644345").model_years == (1980, 2010)


@given(st.text(max_size=60), st.text(max_size=5))
def test_any_text_gives_a_result_or_a_refusal(text: str, reason: str) -> None:
    try:
        result = check_vin(text, reason=reason)
    except Refusal:
        return

    assert result.vin == normalise_vin(text)
    assert 5 <= len(result.vin) <= 17
