"""Run every benchmark beside this module, print a table, and write ``.bench/results.json``.

Names of subjects as arguments (``engineering``) run only those.
"""

from __future__ import annotations

import importlib
import json
import sys
from collections.abc import Sequence
from pathlib import Path

from tests.benchmarks import Result

HERE = Path(__file__).resolve().parent
RESULTS = HERE.parents[1] / ".bench" / "results.json"


def main(subjects: Sequence[str]) -> int:
    """Run the benchmarks of the subjects, all when there are none, and return 1 when a limit is broken."""
    results = [result for name in _modules(subjects) for result in importlib.import_module(name).benchmarks()]
    RESULTS.parent.mkdir(exist_ok=True)
    RESULTS.write_text(json.dumps(results, indent=2) + "\n", encoding="utf-8")
    sys.stdout.write(table(results) + "\n")
    return int(any(is_over(result) for result in results))


def is_over(result: Result) -> bool:
    """Return whether a result is above its limit."""
    return result["ratio"] > result["limit"]


def table(results: Sequence[Result]) -> str:
    """Return the results as text, one line each."""
    width = max((len(result["name"]) for result in results), default=4)
    lines = [f"{'name':<{width}}  {'ratio':>8}  {'limit':>8}"]
    for result in results:
        verdict = "  over" if is_over(result) else ""
        lines.append(f"{result['name']:<{width}}  {result['ratio']:>8.3f}  {result['limit']:>8.3f}{verdict}")
    return "\n".join(lines)


def _modules(subjects: Sequence[str]) -> list[str]:
    found = sorted(path.stem for path in HERE.glob("bench_*.py"))
    wanted = [name for name in found if not subjects or name.removeprefix("bench_") in subjects]
    return [f"{__package__}.{name}" for name in wanted]


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
