"""The typesetting of a record: archival, complete in every script, and deaf to markup."""

from __future__ import annotations

from datetime import UTC, datetime
from io import BytesIO

import pytest
from pypdf import PdfReader

from shopcool.core.documents import Document, Entry, Head, Section, Stamp, typeset
from tests.core.documents.reading import BREAK, fonts_of, glyphs_of, metadata_of, text_of
from tests.core.documents.test_fonts import NAMES

MADE_AT = datetime(2026, 3, 2, 13, 30, tzinfo=UTC)
#: One record in ten scripts; most of it are the letters that it embeds.
LARGEST_IN_ALL_SCRIPTS = 300_000


def document(*texts: str, name: str = "SC 001", entries: tuple[Entry, ...] = ()) -> Document:
    """Return a record that says some texts."""
    head = Head(
        workshop="Harbour Street Workshop",
        address=("Harbour Street 12",),
        kind="Record",
        number="J-1",
        name=name,
        name_note="Example",
        state="Closed.",
        running="J-1",
        made="Made today",
    )
    sections = (*(Section("Text", text) for text in texts), Section("Entries", entries=entries))
    return Document("en", "a4", "Record of job J-1", head, (), sections, "Page {page} of {pages}")


def set_in_pdf(*texts: str, **parts: object) -> bytes:
    """Return a typeset record that says some texts."""
    return typeset(document(*texts, **parts), made_at=MADE_AT)  # type: ignore[arg-type]


class TestArchive:
    def test_declares_pdf_a_2a_with_its_title_and_language(self):
        metadata = metadata_of(set_in_pdf("Words."))

        # ISO 19005-2:2011, 6.6.4: how a file says which part and level it conforms to.
        assert "<pdfaid:part>2</pdfaid:part>" in metadata
        assert "<pdfaid:conformance>A</pdfaid:conformance>" in metadata
        assert "Record of job J-1" in metadata

    def test_embeds_every_font_and_takes_none_from_the_machine(self):
        fonts = fonts_of(set_in_pdf(*NAMES.values()))

        assert all(fonts.values())
        assert {name[:4] for name in fonts} == {"Noto", "Libe"}

    def test_is_the_same_file_for_the_same_data(self):
        assert set_in_pdf("Words.") == set_in_pdf("Words.")

    def test_counts_its_pages(self):
        text = text_of(set_in_pdf(*["A paragraph of a record.\n" * 60] * 2))

        assert "Page 1 of 3" in text
        assert "Page 3 of 3" in text


class TestScripts:
    @pytest.mark.parametrize("name", NAMES.values(), ids=NAMES)
    def test_shows_names_without_a_missing_glyph(self, name):
        glyphs = list(glyphs_of(set_in_pdf(name, name=name)))

        assert len(glyphs) > 50
        assert 0 not in glyphs

    @pytest.mark.parametrize("script", ["Polish", "Greek", "Cyrillic", "Chinese", "Japanese", "Korean"])
    def test_keeps_names_readable_for_machines(self, script):
        assert NAMES[script] in text_of(set_in_pdf(NAMES[script]))

    def test_stays_small_with_all_scripts_together(self):
        assert len(set_in_pdf(*NAMES.values())) < LARGEST_IN_ALL_SCRIPTS

    def test_shows_the_code_of_a_character_that_no_font_has(self):
        assert "Sign [U+E000] here" in text_of(set_in_pdf("Sign \ue000 here"))

    def test_falls_back_to_the_text_font_rather_than_to_no_record(self, monkeypatch):
        """A combination that defeats the fonts is let through, to see what becomes of it."""
        monkeypatch.setattr("shopcool.core.documents.typesetting.printable", _blind_printable)

        assert "x[U+20E3] and Łódź" in text_of(set_in_pdf("Words.", name="x\u20e3 and Łódź"))


class TestMarkup:
    @pytest.mark.parametrize(
        "text",
        [
            '#panic("x")',
            "*bold* _slanted_",
            "$x^2$",
            "@reference <label>",
            "// no comment /* at all */",
            "= no heading",
            '#read("/etc/passwd")',
            "`raw` \\ #[content] ~ --- ...",
            '"quoted" {braces} [brackets]',
        ],
    )
    def test_stays_literal_wherever_a_person_typed_it(self, text):
        entry = Entry(Stamp("10:00", "2 Mar 2026", text), text, text=text)

        found = text_of(set_in_pdf(text, name=text, entries=(entry,)))

        assert found.count(text) == 5

    def test_can_not_reach_files_beside_the_template(self):
        """What the template does is ours; data never becomes code, so the text of a file never appears."""
        assert "root:" not in text_of(set_in_pdf('#read("/etc/passwd")', '#include "/etc/passwd"'))


class TestLongWords:
    def test_break_instead_of_leaving_the_page(self):
        word = "Donaudampfschifffahrtsgesellschaft" * 12

        pdf = set_in_pdf(word)

        assert word in text_of(pdf).replace(" ", "")
        assert max(_line_lengths(pdf)) < 120


def _blind_printable(text: str, *, latin_only: bool = False) -> str:
    return text.replace("\u20e3", "[U+20E3]") if latin_only else text


def _line_lengths(pdf: bytes) -> list[int]:
    pages = PdfReader(BytesIO(pdf)).pages
    return [len(line.replace(BREAK, "")) for page in pages for line in page.extract_text().splitlines()]
