"""The worked examples on the pages of the computations: ``python -m tests.engineering.pages`` renews them.

An example is a block of the language ``console``: a command after ``$``, then what it prints.
"""

from __future__ import annotations

import contextlib
import io
import re
import shlex
from dataclasses import dataclass
from pathlib import Path

from shopcool.engineering.__main__ import main

PAGES = Path(__file__).resolve().parents[2] / "docs" / "engineering"
PROGRAM = "python -m shopcool.engineering "
_EXAMPLE = re.compile(r"```console\n\$ (?P<command>(?:.*\\\n)*.*)\n(?P<output>(?:.*\n)*?)```")


@dataclass(frozen=True)
class Example:
    """A command of a page and the output printed there."""

    command: str
    output: str

    def run(self) -> str:
        """Return what the command prints now, whether an answer or a refusal."""
        words = shlex.split(self.command.replace("\\\n", " ").removeprefix(PROGRAM))
        printed = io.StringIO()
        with contextlib.redirect_stdout(printed), contextlib.redirect_stderr(printed):
            main(words)
        return printed.getvalue()


def examples(page: Path) -> list[Example]:
    """Return the examples of a page."""
    return [
        Example(match["command"], match["output"])
        for match in _EXAMPLE.finditer(page.read_text(encoding="utf-8"))
    ]


def pages() -> list[Path]:
    """Return the pages of the computations."""
    return sorted(PAGES.glob("*.md"))


def _renewed(match: re.Match[str]) -> str:
    example = Example(match["command"], match["output"])
    return f"```console\n$ {example.command}\n{example.run()}```"


def write() -> None:
    """Write the output of every example anew."""
    for page in pages():
        page.write_text(_EXAMPLE.sub(_renewed, page.read_text(encoding="utf-8")), encoding="utf-8")


if __name__ == "__main__":
    write()
