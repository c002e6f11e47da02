"""What stays the same for a car is brought from its earlier records, newest first, whole groups at a time."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest

from jobs.choices import StepKind
from jobs.pages.prefilled import kept_values
from jobs.procedure import Outcome
from jobs.steps.answers import Answer
from jobs.steps.context import Earlier, Past, StepContext
from jobs.steps.values import Values
from tests.jobs.steps.asking import context, earlier, values

RUNNING = {"state": "RUNNING", "low": "2 bar", "high": "14 bar", "ambient": "22"}
WINDOW = {
    "window": "yes", "window_low_from": "1.5 bar", "window_low_to": "2.5 bar", "window_high_from": "13 bar",
    "window_high_to": "17 bar", "window_inlet_from": "20", "window_inlet_to": "30",
    "window_state": "1500 rpm", "window_source": "manual, A/C 5",
}  # fmt: skip


def past(kind: StepKind, raw: dict[str, Any], year: int) -> Past:
    """Return a record of an earlier visit."""
    at = datetime(year, 3, 2, tzinfo=UTC)
    return Past(kind, at, f"J-{year}", values(kind, raw), Answer(Outcome.DONE))


def visited(*history: Past, own: tuple[Earlier, ...] = ()) -> StepContext:
    return context(history=history, earlier=own)


def kept(kind: StepKind, known: StepContext) -> Values:
    return Values(kept_values(kind, known))


@pytest.mark.parametrize("kind", [StepKind.READINGS_BEFORE, StepKind.READINGS_AFTER])
def test_port_and_window_come_from_the_newest_readings_that_have_them(kind: StepKind) -> None:
    known = visited(
        past(StepKind.READINGS_BEFORE, RUNNING | WINDOW | {"port": "at_accumulator"}, 2023),
        past(StepKind.READINGS_AFTER, RUNNING | {"port": "near_compressor"}, 2024),
        past(StepKind.READINGS_BEFORE, RUNNING, 2025),
    )

    found = kept(kind, known)

    assert found.text("port") == "near_compressor"
    assert (found.yes("window"), found.text("window_source")) == (True, "manual, A/C 5")
    assert not found.has("low")  # what was measured is measured again


def test_this_visit_goes_before_earlier_ones() -> None:
    own = earlier(StepKind.READINGS_BEFORE, RUNNING | {"port": "at_accumulator"})

    known = visited(past(StepKind.READINGS_AFTER, RUNNING | {"port": "near_compressor"}, 2025), own=(own,))

    assert kept(StepKind.READINGS_AFTER, known).text("port") == "at_accumulator"


def test_the_makers_limits_come_with_their_source() -> None:
    evacuation = {
        "machine": "1", "pumped": "25", "valve_closed_first": "yes", "gauge": "ELECTRONIC",
        "start": "1 mbar", "held": "10", "end": "1.2 mbar", "allowed_rise": "5 mbar",
    }  # fmt: skip
    hold = {
        "method": "HOLD", "gas": "NITROGEN", "highest": "12 bar", "maker_document": "manual, A/C 12",
        "hold_start": "8 bar", "hold_start_temperature": "20", "hold_time": "30", "hold_end": "8 bar",
        "hold_end_temperature": "20",
    }  # fmt: skip
    known = visited(past(StepKind.EVACUATION, evacuation, 2024), past(StepKind.LEAK_CHECK, hold, 2024))

    assert set(kept_values(StepKind.EVACUATION, known)) == {"allowed_rise"}
    assert set(kept_values(StepKind.LEAK_CHECK, known)) == {"highest", "maker_document"}
    assert kept_values(StepKind.CHARGE, known) == {}
