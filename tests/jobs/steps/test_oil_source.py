"""Added oil comes from the books: the injector or lot holds it, it is the circuit's, and it can be traced."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest

from jobs.choices import StepKind
from jobs.errors import ValuesInvalid
from jobs.procedure import Outcome
from jobs.steps.answers import Answer
from jobs.steps.context import Past
from jobs.steps.oil_on_hand import HeldOil, OilFacts
from jobs.steps.oil_total import oil_total
from jobs.steps.values import Values
from tests.jobs.steps.asking import OIL, ask, context, earlier, values

INJECTED = {"added": "yes", "way": "INJECTOR", "injector": "3", "amount": "15"}
WITH_PART = {"added": "yes", "way": "WITH_PART", "oil": "POE", "grade": "SP-A2", "amount": "15"}


class TestInjector:
    def test_gives_the_grams_at_the_density_of_its_lot(self) -> None:
        answer = ask(StepKind.OIL, INJECTED)

        # 15 ml at 0.96 g/ml
        assert answer.output("added_mass").si == pytest.approx(14.4e-3)
        assert answer.output("added_mass").text == "14.4 g"

    @pytest.mark.parametrize(
        ("held", "message"),
        [
            (HeldOil(14e-6, 13e-3), "I-1 holds 14 ml by the books, less than this"),
            (HeldOil(0.0, 0.0), "I-1 holds nothing by the books: fill it from a lot"),
            (None, "I-1 holds nothing by the books"),
        ],
    )
    def test_that_holds_less_is_refused_beside_the_amount(self, held: HeldOil | None, message: str) -> None:
        known = context(oil=OilFacts(injectors={3: held} if held else {}))

        with pytest.raises(ValuesInvalid, match=message) as refused:
            ask(StepKind.OIL, INJECTED, known)

        assert set(refused.value.fields) == {"amount"}

    def test_that_has_held_a_bad_lot_is_refused(self) -> None:
        known = context(oil=OilFacts(injectors={3: HeldOil(60e-6, 57e-3, bad_lot="L-7")}))

        with pytest.raises(ValuesInvalid, match="has held oil of lot L-7, which was found bad") as refused:
            ask(StepKind.OIL, INJECTED, known)

        assert set(refused.value.fields) == {"injector"}


class TestLot:
    def test_is_taken_for_oil_measured_into_a_part(self) -> None:
        answer = ask(StepKind.OIL, WITH_PART | {"lot": "11"})

        assert "lot_not_named" not in answer.codes
        assert answer.output("added_mass").text == "14.4 g"

    def test_that_nobody_names_is_warned_of(self) -> None:
        assert "lot_not_named" in ask(StepKind.OIL, WITH_PART).codes

    @pytest.mark.parametrize(
        ("change", "message"),
        [
            ({"lot": "12"}, "L-2 has been open for 31 days"),
            ({"lot": "99"}, "not on the shelf"),
            ({"lot": "11", "grade": "RB 100"}, "L-1 is POE SP-A2 by the books"),
            ({"lot": "11", "oil": "PVE"}, "L-1 is POE SP-A2 by the books"),
        ],
    )
    def test_that_does_not_fit_is_refused(self, change: dict[str, str], message: str) -> None:
        with pytest.raises(ValuesInvalid, match=message) as refused:
            ask(StepKind.OIL, WITH_PART | change)

        assert set(refused.value.fields) == {"lot"}


class TestTotal:
    def test_adds_up_visits_and_says_what_it_assumes(self) -> None:
        before = datetime(2025, 3, 1, tzinfo=UTC)
        history = [
            _past(before, StepKind.OIL_BOTTLE, {"machine": "1", "emptied": "yes"}),
            _past(before, StepKind.RECOVERY, _recovered("20 ml")),
            _past(before, StepKind.OIL, INJECTED | {"amount": "10"}),
        ]
        now = (
            earlier(StepKind.OIL_BOTTLE, {"machine": "1", "emptied": "no", "reading": "5 ml", "oil": "POE"}),
            earlier(StepKind.RECOVERY, _recovered("9 ml"), position=2),
        )

        answer = ask(StepKind.OIL, INJECTED, context(history=history, earlier=now, oil_m3=120e-6))

        # 120 − 20 + 10 − (9 − 5) + 15 = 121 ml
        assert answer.output("oil_total").si == pytest.approx(121e-6)
        sentence = _sentence(answer, "oil_total")
        assert "24 ml out, 25 ml in" in sentence
        assert "nobody else added or drained oil" in sentence

    def test_names_what_nobody_measured(self) -> None:
        now = (
            earlier(StepKind.OIL_BOTTLE, {"machine": "1", "emptied": "yes"}),
            earlier(StepKind.RECOVERY, _recovered(""), position=2),
        )

        answer = ask(StepKind.OIL, INJECTED, context(earlier=now))

        assert "the oil that came out with the refrigerant" in _sentence(answer, "oil_total")
        assert "oil_total" not in {output.name for output in answer.outputs}

    def test_never_falls_below_nothing(self) -> None:
        parts = Values({"drained_oil": values(StepKind.OIL, INJECTED).stored["amount"]})

        total = oil_total(10e-6, [("J-1", StepKind.PARTS, parts)])

        assert total.estimate_m3 == 0.0

    def test_starts_again_from_what_was_added_to_an_emptied_circuit(self) -> None:
        parts = Values({"parts": "hose", "compressor": False})
        refilled = values(StepKind.OIL, INJECTED | {"amount": "100", "emptied": "yes"})
        added = values(StepKind.OIL, INJECTED | {"amount": "5"})

        total = oil_total(
            None,
            [("J-1", StepKind.PARTS, parts), ("J-2", StepKind.OIL, refilled), ("J-3", StepKind.OIL, added)],
        )

        assert total.estimate_m3 == pytest.approx(105e-6)
        assert total.unknown == ()


class TestBottle:
    @pytest.mark.parametrize("emptied", [{"emptied": "yes"}, {"emptied": "no", "reading": "0", "oil": "POE"}])
    def test_of_a_job_that_left_no_figure_is_warned_of(self, emptied: dict[str, str]) -> None:
        known = context(oil=OilFacts(unread={1: "J-26-0041"}))

        answer = ask(StepKind.OIL_BOTTLE, {"machine": "1"} | emptied, known)

        assert "Job J-26-0041, the last one on this machine" in _sentence(answer, "job_before_unread")
        assert answer.satisfied

    def test_with_other_oil_stops_an_electric_car(self) -> None:
        raw = {"machine": "1", "emptied": "no", "reading": "3 ml", "oil": "PAG"}

        answer = ask(StepKind.OIL_BOTTLE, raw, context(oil=OIL))

        assert (answer.outcome, answer.satisfied) == (Outcome.NOT_DONE, False)
        assert "other_oil_in_bottle" in answer.codes


def _recovered(oil_end: str) -> dict[str, str]:
    raw = {"into": "MACHINE", "machine": "1", "mass": "480", "ambient": "21", "pressure_returned": "no"}
    return raw | ({"oil_end": oil_end} if oil_end else {})


def _past(at: datetime, kind: StepKind, raw: dict[str, Any]) -> Past:
    return Past(kind, at, "J-25-0001", values(kind, raw), Answer(Outcome.DONE))


def _sentence(answer: Answer, code: str) -> str:
    return next(finding.sentence for finding in answer.findings if finding.code == code)
