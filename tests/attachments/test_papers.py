"""A PDF is kept byte for byte; one that can't be opened by everybody is refused in a sentence."""

from __future__ import annotations

import subprocess
from io import BytesIO

import pytest
from PIL import Image

from shopcool.attachments import papers
from shopcool.attachments.errors import FileRefused
from shopcool.attachments.preparing import Upload, prepare
from tests.attachments.files import paper


def test_is_kept_as_it_came_with_a_picture_of_its_first_page() -> None:
    sent = paper(3)

    kept = prepare(Upload("report.pdf", sent))

    assert (kept.content, kept.pages, kept.width) == (sent, 3, None)
    # A page of 595 × 842 points: the thumbnail has its shape.
    width, height = Image.open(BytesIO(kept.thumbnail)).size
    assert height == 480
    assert width / height == pytest.approx(595 / 842, abs=0.01)


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (paper(password="tern"), "wants a password"),
        (paper(201), "has 201 pages; at most 200"),
        (b"%PDF-1.7\n" + bytes(range(256)) * 8, "damaged or incomplete"),
        (paper()[:60], "damaged or incomplete"),
        (paper(0), "damaged or incomplete"),
        (b"GIF89a" + paper(), "Only photos"),
    ],
)
def test_is_refused_with_a_reason(content: bytes, sentence: str) -> None:
    with pytest.raises(FileRefused, match=sentence):
        prepare(Upload("report.pdf", content))


def test_that_keeps_its_reader_busy_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(papers, "PATIENCE_S", 0.001)

    with pytest.raises(FileRefused, match="damaged or incomplete"):
        prepare(Upload("report.pdf", paper()))


def test_that_kills_its_reader_harms_nobody_else(monkeypatch: pytest.MonkeyPatch) -> None:
    def killed(*_arguments: object, **_options: object) -> None:
        raise subprocess.CalledProcessError(-11, "reader")

    monkeypatch.setattr(papers.subprocess, "run", killed)

    with pytest.raises(FileRefused, match="damaged or incomplete"):
        prepare(Upload("report.pdf", paper()))
