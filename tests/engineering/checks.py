"""One comparison of a computation with the world outside, and the table of all of them."""

from __future__ import annotations

import importlib
import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Literal, TypeVar, get_args

import pytest

from shopcool.engineering.errors import Refusal

T = TypeVar("T")

Kind = Literal["published", "independent library", "arithmetic", "common practice", "from memory"]

INTRODUCTION = """\
# Check values

Every computation is compared with something outside this project. This table is generated from the tests
(`python -m tests.engineering.write_checks`), and a test fails when it is out of date.

*Published* values were read in the source named. *Independent library* values are computed while the test
runs by another implementation. *Arithmetic* is an identity anybody can work out. *Common practice* is a habit
of the trade without a source. *From memory* is a value we believe but could not read again: it never stands
alone.
"""

COLUMNS = (
    "| quantity | ours | reference | deviation | tolerance | kind | source |\n|---|---|---|---|---|---|---|\n"
)


@dataclass(frozen=True)
class Check:
    """Our answer beside a reference; the tolerance is relative unless ``absolute``."""

    computation: str
    quantity: str
    ours: Callable[[], float]
    reference: float | Callable[[], float]
    tolerance: float
    source: str
    kind: Kind
    absolute: bool = False

    def __post_init__(self) -> None:
        assert self.kind in get_args(Kind), self.kind
        assert self.source
        assert self.tolerance > 0.0

    def reference_value(self) -> float:
        """Return the reference, asking the other library when that is where it comes from."""
        return self.reference() if callable(self.reference) else self.reference

    def outcome(self) -> Outcome:
        """Return both values and how far apart they are."""
        ours, reference = float(self.ours()), float(self.reference_value())
        scale = 1.0 if self.absolute else abs(reference)
        return Outcome(ours, reference, abs(ours - reference) / scale if scale else math.inf)


@dataclass(frozen=True)
class Outcome:
    """Our value, the reference and their distance, absolute or relative as the check says."""

    ours: float
    reference: float
    deviation: float


def each(checks: Iterable[Check]) -> pytest.MarkDecorator:
    """Return the decorator that runs a test once per check, under the check's own name."""
    return pytest.mark.parametrize("check", [pytest.param(check, id=check.quantity) for check in checks])


def assert_holds(check: Check) -> None:
    """Fail when our value is further from the reference than the check allows."""
    outcome = check.outcome()
    assert math.isfinite(outcome.ours), f"{check.quantity}: no finite value"
    assert outcome.deviation <= check.tolerance, (
        f"{check.computation}, {check.quantity}: {outcome.ours:.8g} against {outcome.reference:.8g} "
        f"({check.source}), deviation {outcome.deviation:.3g}, allowed {check.tolerance:.3g}"
    )


def answer_or_refusal(question: Callable[[], T]) -> T | Refusal:
    """Return the answer to a question or the refusal of it; any other exception is a failure of the test."""
    try:
        return question()
    except Refusal as refused:
        return refused


def all_checks() -> list[Check]:
    """Return the checks of all test modules beside this one, by module and in their order."""
    modules = sorted(path.stem for path in Path(__file__).parent.glob("test_*.py"))
    imported = (importlib.import_module(f"{__package__}.{name}") for name in modules)
    return [check for module in imported for check in getattr(module, "CHECKS", ())]


def table(checks: Iterable[Check]) -> str:
    """Return the page with one table per computation."""
    by_computation: dict[str, list[Check]] = {}
    for check in checks:
        by_computation.setdefault(check.computation, []).append(check)
    sections = [_section(name, rows) for name, rows in sorted(by_computation.items())]
    return INTRODUCTION + "".join(sections)


def _section(computation: str, checks: list[Check]) -> str:
    return f"\n## {computation[:1].upper()}{computation[1:]}\n\n" + COLUMNS + "".join(map(_row, checks))


def _row(check: Check) -> str:
    outcome = check.outcome()
    cells = (
        check.quantity,
        f"{outcome.ours:.5g}",
        f"{outcome.reference:.5g}",
        _deviation(outcome.deviation, check.absolute),
        f"{check.tolerance:g}" if check.absolute else f"{100.0 * check.tolerance:g} %",
        check.kind,
        check.source,
    )
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |\n"


def _deviation(value: float, absolute: bool) -> str:
    """Return a deviation with few digits, so that the last bits of a machine never change the table."""
    shown, unit, smallest = (value, "", 1e-5) if absolute else (100.0 * value, " %", 1e-3)
    return f"< {smallest:g}{unit}" if shown < smallest else f"{shown:.2g}{unit}"
