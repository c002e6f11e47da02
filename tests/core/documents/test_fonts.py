"""Which characters a printed record can show, and what becomes of the others."""

from __future__ import annotations

import unicodedata

import pytest

from shopcool.core.documents.fonts import printable

#: Names as people write them, one of each script that a workshop is likely to meet.
NAMES = {
    "Polish": "Łukasz Żółć-Świętochłowski",
    "Greek": "Γεώργιος Παπαδόπουλος",
    "Cyrillic": "Щербаков Іван Ђорђевић",
    "Arabic": "محمد عبد الله",
    "Hebrew": "שָׁלוֹם",
    "Hindi": "नमस्ते क्षत्रिय",
    "Thai": "สวัสดี",
    "Chinese": "王小明",
    "Japanese": "山田太郎 カタカナ",
    "Korean": "김민수",
    "emoji": "❤ 🚗 👍🏽 👨‍👩‍👧",
    "units": "µm Ω °C ± ≤ ≥ ² ³ → ′ ″ №",
}


class TestPrintable:
    @pytest.mark.parametrize("name", NAMES.values(), ids=NAMES)
    def test_leaves_names_of_all_scripts_as_they_are(self, name):
        assert printable(name) == name

    def test_keeps_decomposed_letters(self):
        assert printable("Z\u0307o\u0301l\u0301c") == "Z\u0307o\u0301l\u0301c"

    @pytest.mark.parametrize(
        ("text", "shown"),
        [
            ("a\x00b", "a[U+0000]b"),
            ("\ue000", "[U+E000]"),
            ("\u0378", "[U+0378]"),
            ("\U00013000", "[U+13000]"),
            ("safe\u202eelbat", "safe[U+202E]elbat"),
            ("1\ufe0f\u20e3", "1\ufe0f[U+20E3]"),
            ("x\u0e31", "x[U+0E31]"),
        ],
        ids=["control", "private", "unassigned", "no font", "turns direction", "enclosing", "foreign mark"],
    )
    def test_shows_the_code_of_what_it_can_not_print(self, text, shown):
        assert printable(text) == shown

    def test_keeps_line_breaks_and_turns_tabs_into_spaces(self):
        assert printable("one\ttwo\nthree") == "one two\nthree"

    def test_can_do_with_the_text_font_alone(self):
        assert printable("Łódź 王", latin_only=True) == "Łódź [U+738B]"

    def test_covers_every_letter_of_european_languages(self):
        european = {
            chr(code)
            for first, last in ((0x20, 0x17F), (0x370, 0x3E1), (0x400, 0x52F), (0x1E00, 0x1EFF))
            for code in range(first, last + 1)
            if unicodedata.category(chr(code)).startswith("L")
        }

        assert {letter for letter in european if printable(letter) != letter} == set()
