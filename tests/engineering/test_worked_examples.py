"""The worked examples in Python on the pages of the computations give what the pages say."""

from __future__ import annotations

import doctest
from pathlib import Path

import pytest

from tests.engineering.pages import pages

PAGES_IN_PYTHON = [page for page in pages() if ">>> " in page.read_text(encoding="utf-8")]


def test_there_are_worked_examples() -> None:
    assert {"vacuum-hold", "oil-balance", "diagnosis"} <= {page.stem for page in PAGES_IN_PYTHON}


@pytest.mark.parametrize("page", PAGES_IN_PYTHON, ids=lambda page: page.stem)
def test_a_worked_example_gives_what_the_page_says(page: Path, capsys: pytest.CaptureFixture[str]) -> None:
    failed, tried = doctest.testfile(str(page), module_relative=False)

    assert tried > 0
    assert failed == 0, capsys.readouterr().out
