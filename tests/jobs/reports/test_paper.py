"""The record of a job on paper, read back by a library that had no part in it."""

from __future__ import annotations

from equipment.models import Clearance
from jobs.models import StepRecord
from shopcool.core.documents import typeset
from shopcool.vehicles.models import Customer
from tests.core.documents.reading import fonts_of, glyphs_of, metadata_of, text_of
from tests.core.documents.test_fonts import NAMES
from tests.jobs.bay import Bay
from tests.jobs.reports.visit_told import REASON, document_of

#: A closed job with its corrections and decisions; the embedded letters of three fonts are most of it.
LARGEST_RECORD = 300_000


def paper(bay: Bay) -> bytes:
    """Return the typeset record of the job."""
    return typeset(document_of(bay), made_at=bay.workshop.now)


class TestPaper:
    def test_carries_figures_with_their_units_as_typed_and_as_meant(self, closed_bay):
        text = text_of(paper(closed_bay))

        for figure in (
            "0,48 kg 480 g",
            "71 psi 4.90 bar(g), 5.91 bar(a)",
            "> 550 MΩ",
            "99,7 %",
            "700 micron",
        ):
            assert figure in text

    def test_carries_every_reason_and_the_written_reason_of_the_override(self, closed_bay):
        text = text_of(paper(closed_bay))

        assert f"Reason: “{REASON}”" in text
        reasons = [reason for clearance in Clearance.objects.all() for reason in clearance.reasons]
        assert reasons
        for reason in reasons:
            assert all(" ".join(reason[part].split()) in text for part in ("sentence", "fix", "source"))

    def test_carries_corrections_with_the_old_and_the_new(self, closed_bay):
        text = text_of(paper(closed_bay))

        assert "does not cool" in text
        assert "Corrects the entry of 09:30. Reason: “misheard the customer”" in text
        assert "squeaks in summer" in text

    def test_names_job_workshop_page_and_head_of_the_chain_on_every_page(self, closed_bay):
        text = text_of(paper(closed_bay))

        last = StepRecord.objects.latest("sequence")
        pages = text.count("Harbour Street Workshop")
        assert pages > 3
        assert text.count(f"chain {last.hash[:16]}…") == pages
        assert f"Page {pages} of {pages}" in text

    def test_is_an_archival_file_that_embeds_its_fonts_and_stays_small(self, closed_bay):
        pdf = paper(closed_bay)

        assert "<pdfaid:part>2</pdfaid:part>" in metadata_of(pdf)
        assert all(fonts_of(pdf).values())
        assert len(pdf) < LARGEST_RECORD

    def test_shows_the_customer_in_any_script(self, closed_bay):
        scripts = ("Polish", "Greek", "Cyrillic", "Arabic", "Chinese", "Korean", "emoji")
        Customer.objects.update(name=" / ".join(NAMES[script] for script in scripts))

        pdf = paper(closed_bay)

        assert 0 not in list(glyphs_of(pdf))
        assert NAMES["Korean"] in text_of(pdf)

    def test_takes_what_people_typed_literally(self, closed_bay):
        Customer.objects.update(name='#panic("x") *Bold* $x$ <a> @b // c')

        assert '#panic("x") *Bold* $x$ <a> @b // c' in text_of(paper(closed_bay))
