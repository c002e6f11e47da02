"""The rules of the style sheets and templates, read from the files themselves."""

from __future__ import annotations

import gzip
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
STATIC = ROOT / "shopcool" / "static"
SHEETS = sorted((STATIC / "css").rglob("*.css"))
TOKENS = STATIC / "css" / "tokens.css"
TEMPLATES = sorted(path for path in (ROOT / "templates").rglob("*") if path.suffix in {".html", ".svg"})
SCRIPTS = sorted((STATIC / "js").glob("*.js"))

COLOUR = re.compile(
    r"#[0-9a-f]{3,8}\b|\b(?:rgb|hsl|hwb|lab|lch|oklab|oklch|color|color-mix)a?\(|"
    r":[^;{}]*\b(?:black|white|red|green|blue|gray|grey|orange|yellow|navy|teal|silver)\b[^;{}]*;",
    re.IGNORECASE,
)
# Words on a ground, as the components put them together. WCAG 2.2, success criterion 1.4.3: at least 4.5.
TEXT_PAIRS = [
    ("ink", "ground"), ("ink", "sheet"), ("ink", "sunken"), ("ink", "accent-soft"),
    ("ink", "warning-soft"), ("ink", "refusal-soft"),
    ("ink-soft", "ground"), ("ink-soft", "sheet"), ("ink-soft", "sunken"), ("ink-soft", "accent-soft"),
    ("ink-soft", "warning-soft"), ("ink-soft", "refusal-soft"),
    ("accent", "ground"), ("accent", "sheet"), ("accent", "sunken"), ("accent", "accent-soft"),
    ("accent-strong", "ground"), ("accent-strong", "sunken"), ("accent-strong", "accent-soft"),
    ("on-accent", "accent"), ("on-accent", "accent-strong"),
    ("warning", "ground"), ("warning", "sheet"), ("warning", "warning-soft"), ("on-warning", "warning-fill"),
    ("refusal", "ground"), ("refusal", "sheet"), ("refusal", "refusal-soft"), ("on-refusal", "refusal-fill"),
    ("ground", "ink"),
    *[("on-oil", f"oil-{oil}") for oil in ("pag", "poe", "pve", "pao", "mineral")],
]  # fmt: skip
# Edges of what can be touched. WCAG 2.2, success criterion 1.4.11: at least 3.
EDGE_PAIRS = [("line-strong", "ground"), ("line-strong", "sheet"), ("accent", "ground"), ("accent", "sheet")]


def without_comments(text: str) -> str:
    """Return a style sheet without its comments."""
    return re.sub(r"/\*.*?\*/", "", text, flags=re.DOTALL)


def palette(theme: str) -> dict[str, str]:
    """Return the colours of the day (first of each pair) or of the night (second)."""
    pairs = re.findall(r"--([\w-]+): light-dark\((#\w{6})(?:\w\w)?, (#\w{6})(?:\w\w)?\)", TOKENS.read_text())
    return {name: day if theme == "day" else night for name, day, night in pairs}


def luminance(colour: str) -> float:
    """Return the relative luminance of #rrggbb (W3C, WCAG 2.2, definition of relative luminance)."""
    channels = [int(colour[start : start + 2], 16) / 255 for start in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of two colours (W3C, WCAG 2.2, definition of contrast ratio)."""
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


class TestContrast:
    def test_formula_spans_the_published_range_of_1_to_21(self) -> None:
        # W3C, WCAG 2.2, definition of contrast ratio: ratios range from 1 to 21.
        assert contrast("#ffffff", "#000000") == pytest.approx(21.0, abs=1e-9)
        assert contrast("#808080", "#808080") == pytest.approx(1.0, abs=1e-9)

    @pytest.mark.parametrize("theme", ["day", "night"])
    @pytest.mark.parametrize(("words", "ground"), TEXT_PAIRS)
    def test_words_can_be_read_on_their_ground(self, theme: str, words: str, ground: str) -> None:
        colours = palette(theme)

        assert contrast(colours[words], colours[ground]) >= 4.5

    @pytest.mark.parametrize("theme", ["day", "night"])
    @pytest.mark.parametrize(("edge", "ground"), EDGE_PAIRS)
    def test_edges_of_controls_can_be_seen(self, theme: str, edge: str, ground: str) -> None:
        colours = palette(theme)

        assert contrast(colours[edge], colours[ground]) >= 3.0

    def test_night_is_a_palette_of_its_own(self) -> None:
        day, night = palette("day"), palette("night")

        assert day.keys() == night.keys()
        assert luminance(day["ground"]) > 0.5 > 0.1 > luminance(night["ground"])
        assert len(day) >= 20


class TestStyleSheets:
    @pytest.mark.parametrize("sheet", SHEETS, ids=lambda path: path.name)
    def test_only_the_tokens_hold_raw_colours(self, sheet: Path) -> None:
        found = COLOUR.findall(without_comments(sheet.read_text()))

        assert bool(found) == (sheet == TOKENS), found

    @pytest.mark.parametrize("sheet", SHEETS, ids=lambda path: path.name)
    def test_nothing_is_important(self, sheet: Path) -> None:
        assert "!important" not in sheet.read_text()

    @pytest.mark.parametrize("sheet", SHEETS, ids=lambda path: path.name)
    def test_every_token_that_is_used_exists(self, sheet: Path) -> None:
        text = "".join(path.read_text() for path in SHEETS)
        used = set(re.findall(r"var\((--[\w-]+)\)", sheet.read_text()))

        assert used <= set(re.findall(r"(--[\w-]+):", text))

    def test_type_has_five_sizes(self) -> None:
        sizes = re.findall(r"--text[\w-]*: ([\d.]+)rem", TOKENS.read_text())

        assert [float(size) * 16 for size in sizes] == [16, 18, 22, 28, 40]

    def test_targets_measure_48_pixels(self) -> None:
        assert "--touch: 3rem;" in TOKENS.read_text()

    def test_main_sheet_lists_every_other(self) -> None:
        main = STATIC / "css" / "main.css"
        listed = {
            (main.parent / name).resolve() for name in re.findall(r'url\("([^"]+)"\)', main.read_text())
        }

        assert listed == set(SHEETS) - {main}

    def test_whole_style_weighs_little_on_the_way_to_a_tablet(self) -> None:
        # Sent compressed, sheet by sheet: a good quarter of the 80 KB that a first page may weigh.
        assert sum(len(gzip.compress(sheet.read_bytes())) for sheet in SHEETS) <= 22_000


class TestTemplates:
    @pytest.mark.parametrize(
        "template", TEMPLATES, ids=lambda path: str(path.relative_to(ROOT / "templates"))
    )
    def test_no_template_holds_style_or_script_of_its_own(self, template: Path) -> None:
        text = template.read_text()

        assert not re.search(r"\sstyle\s*=|<style", text, re.IGNORECASE)
        assert not re.search(r"<script(?![^>]*\ssrc=)", text, re.IGNORECASE)
        assert not re.search(r"\son[a-z]+\s*=\s*[\"']|javascript:|\shx-on", text, re.IGNORECASE)

    @pytest.mark.parametrize(
        "template", TEMPLATES, ids=lambda path: str(path.relative_to(ROOT / "templates"))
    )
    def test_no_page_loads_anything_from_another_host(self, template: Path) -> None:
        assert not re.search(r"(?:src|srcset|action)=[\"'](?:https?:)?//", template.read_text())

    @pytest.mark.parametrize(
        "template", TEMPLATES, ids=lambda path: str(path.relative_to(ROOT / "templates"))
    )
    def test_every_file_that_is_named_exists(self, template: Path) -> None:
        named = re.findall(r"{% static ['\"]([^'\"]+)['\"]", template.read_text())

        assert [name for name in named if not (STATIC / name).exists()] == []


class TestScripts:
    @pytest.mark.parametrize("script", SCRIPTS, ids=lambda path: path.name)
    def test_no_script_builds_code_from_text(self, script: Path) -> None:
        assert not re.search(r"\beval\(|new Function|innerHTML|setTimeout\(\s*[\"']", script.read_text())

    @pytest.mark.parametrize("script", SCRIPTS, ids=lambda path: path.name)
    def test_base_loads_every_behaviour(self, script: Path) -> None:
        assert f"js/{script.name}" in (ROOT / "templates" / "base.html").read_text()
