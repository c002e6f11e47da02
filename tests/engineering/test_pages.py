"""Every computation has a page, and the examples on the pages print what the pages say."""

from __future__ import annotations

from pathlib import Path

import pytest

from shopcool.engineering.door.registry import COMPUTATIONS
from tests.engineering.pages import PAGES, PROGRAM, Example, examples, pages

HEADINGS = ("## Model", "## Assumptions", "## Limits", "## Sources", "## Example")
ALL_EXAMPLES = [(page, example) for page in pages() for example in examples(page)]


def test_every_computation_has_a_page() -> None:
    missing = {computation.page for computation in COMPUTATIONS} - {page.stem for page in pages()}

    assert missing == set()


@pytest.mark.parametrize("page", pages(), ids=lambda page: page.stem)
def test_a_page_tells_model_assumptions_limits_and_sources_and_has_an_example(page: Path) -> None:
    text = page.read_text(encoding="utf-8")

    assert [heading for heading in HEADINGS if f"\n{heading}\n" not in text] == []
    assert examples(page)


@pytest.mark.parametrize(("page", "example"), ALL_EXAMPLES, ids=[page.stem for page, _ in ALL_EXAMPLES])
def test_an_example_prints_what_the_page_says(page: Path, example: Example) -> None:
    assert example.command.startswith(PROGRAM)
    assert example.run() == example.output, (
        f"run python -m tests.engineering.pages to renew {PAGES.name}/{page.name}"
    )
