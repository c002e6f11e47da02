"""Write docs/checks.md from the checks of the tests: ``python -m tests.engineering.write_checks``."""

from __future__ import annotations

from pathlib import Path

from tests.engineering.checks import all_checks, table

PAGE = Path(__file__).resolve().parents[2] / "docs" / "checks.md"


def main() -> None:
    """Write the page."""
    PAGE.write_text(table(all_checks()), encoding="utf-8")


if __name__ == "__main__":
    main()
