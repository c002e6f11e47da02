"""A parallel run begins with the tests that take longest, spread over its processes."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

from tests.conftest import pytest_collection_modifyitems


def item(name: str, *, is_long: bool = False) -> Any:
    """Return a test as it is collected; its file is the part of the name before the dot."""
    return SimpleNamespace(
        name=name,
        path=Path(name.split(".")[0]),
        get_closest_marker=lambda marker: is_long if marker == "long" else None,
    )


def order(items: list[Any], processes: int) -> list[str]:
    """Return the names of the tests in the order in which a run of so many processes takes them."""
    config: Any = SimpleNamespace(workerinput={"workercount": processes}) if processes > 1 else object()
    pytest_collection_modifyitems(config, items)
    return [one.name for one in items]


class TestOrder:
    def test_begins_each_part_with_long_tests_and_keeps_those_of_a_file_together(self) -> None:
        long = [item(name, is_long=True) for name in ("a.1", "b.1", "b.2")]
        short = [item(f"c.{number}") for number in range(5)]

        assert order([*short, *long], 2) == ["a.1", "c.0", "c.1", "c.2", "b.1", "b.2", "c.3", "c.4"]

    def test_loses_no_test_where_the_long_ones_fill_more_than_a_part(self) -> None:
        long = [item(f"a.{number}", is_long=True) for number in range(5)]

        assert order([item("b.1"), *long, item("c.1")], 3) == [f"a.{n}" for n in range(5)] + ["b.1", "c.1"]

    def test_of_one_process_stays_as_it_is(self) -> None:
        assert order([item("b.1"), item("a.1", is_long=True), item("c.1")], 1) == ["b.1", "a.1", "c.1"]
