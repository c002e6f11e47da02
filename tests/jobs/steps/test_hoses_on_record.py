"""What the hoses keep, from the pages of the connected pieces: counted, asked, or refused with numbers."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from equipment.choices import HoseAllowance, PieceKind
from equipment.measures import HoseMeasures, Weighing
from jobs.choices import StepKind
from jobs.errors import ValuesInvalid
from jobs.steps.charge import target_sentence
from jobs.steps.context import PieceChoice, StepContext
from jobs.steps.registry import step_of
from tests.jobs.steps.asking import MACHINE, ask, context, earlier, values
from tests.jobs.visit import ELECTRIC, Visit

CHARGE = {"machine": "1", "mass": "550", "hoses": "", "reason": ""}
#: 34 ml of R-1234yf: 1.0919 kg/l of liquid at 25 °C (CoolProp 7, equation of Richter et al. 2011) are 37 g.
WEIGHED = HoseMeasures(content_m3=34e-6)
ADDS, WEIGHS = HoseAllowance.ALLOWS, HoseAllowance.NONE


def _hoses(number: int, code: str, measures: HoseMeasures = WEIGHED) -> PieceChoice:
    return PieceChoice(
        number, code, "Hoses", PieceKind.HOSE_SET, connected=True, cleared=True, hoses=measures
    )


def _known(weighing: Weighing, *hoses: PieceChoice, label: float = 0.55, **more: Any) -> StepContext:
    visit = Visit(replace(ELECTRIC, charge_kg=label))
    return context(visit, pieces=(replace(MACHINE, weighing=weighing), *hoses), **more)


class TestHosesOnRecord:
    def test_keep_their_liquid_of_what_a_machine_weighs(self):
        known = _known(Weighing(allowance=WEIGHS), _hoses(7, "H-2"))

        answer = ask(StepKind.CHARGE, CHARGE | {"mass": "587"}, known)

        assert answer.output("kept").text == "37 g"
        assert answer.output("total").si == pytest.approx(0.550, abs=0.001)
        assert "H-2 keeps 37 g ± 4 g of liquid at 25 °C; M-1 only weighs." in _sentences(answer)

    def test_keep_nothing_where_the_machine_adds_for_exactly_them(self):
        known = _known(Weighing(allowance=ADDS, allows_for=7, allows_for_code="H-2"), _hoses(7, "H-2"))

        answer = ask(StepKind.CHARGE, CHARGE, known)

        assert answer.output("kept").si == 0.0
        assert "M-1 adds what H-2 keeps: what it shows is in the circuit." in _sentences(answer)

    def test_count_in_the_target_and_are_not_asked_for(self):
        known = _known(Weighing(allowance=WEIGHS), _hoses(7, "H-2"))
        asked = {spec.name for spec in step_of(StepKind.CHARGE).fields_for(known)}

        assert "hoses" not in asked
        target = target_sentence(values(StepKind.CHARGE, CHARGE, known), known)
        assert target == "Weigh in 587 g: label 550 g, less 0 g in the circuit, plus 37 g in the hoses."

    def test_are_asked_for_while_a_page_leaves_them_open(self):
        unmeasured = _known(Weighing(allowance=WEIGHS), _hoses(7, "H-2", HoseMeasures()))

        assert "hoses" in {spec.name for spec in step_of(StepKind.CHARGE).fields_for(unmeasured)}
        with pytest.raises(ValuesInvalid, match="Say what the hoses keep"):
            ask(StepKind.CHARGE, CHARGE, unmeasured)

    def test_of_length_and_bore_count_each_line(self):
        # Two lines of 2.4 m and 4.8 mm hold 2 × π/4 × 4.8² × 2.4 = 86.9 ml, 94.8 g of liquid R-1234yf.
        lines = HoseMeasures(bore_m=4.8e-3, length_m=2.4, line_count=2)
        known = _known(Weighing(allowance=WEIGHS), _hoses(7, "H-2", lines))

        kept = ask(StepKind.CHARGE, CHARGE | {"mass": "645"}, known).output("kept")

        assert kept.si == pytest.approx(0.0949, abs=3e-4)


class TestChangedHose:
    other = Weighing(allowance=ADDS, allows_for=9, allows_for_code="H-9")

    def test_voids_the_setting_and_refuses_a_small_charge_with_numbers(self):
        known = _known(self.other, _hoses(7, "H-2"), label=0.48)
        typed = CHARGE | {"mass": "480", "hoses": "BY_MACHINE"}

        with pytest.raises(ValuesInvalid, match="H-9, and H-2 is on the car") as refused:
            ask(StepKind.CHARGE, typed, known)

        assert "H-2 holds 37 g, 8 % of the label charge." in str(refused.value.fields["hoses"])

    def test_is_a_warning_for_a_larger_charge(self):
        answer = ask(StepKind.CHARGE, CHARGE | {"hoses": "BY_MACHINE"}, _known(self.other, _hoses(7, "H-2")))

        assert "setting_void" in answer.codes

    def test_can_not_be_believed_of_a_machine_that_only_weighs(self):
        known = _known(Weighing(allowance=WEIGHS), _hoses(7, "H-2", HoseMeasures()), label=0.48)

        with pytest.raises(
            ValuesInvalid, match="By its page M-1 only weighs and adds nothing for hoses"
        ) as refused:
            ask(StepKind.CHARGE, CHARGE | {"mass": "480", "hoses": "BY_MACHINE"}, known)

        # π/4 × 5² mm² × 2.4 m = 47.1 ml, 51 g of liquid.
        assert "one line of 2.4 m and 5 mm holds 51 g of liquid" in str(refused.value.fields["hoses"])


class TestRecordedCharge:
    def test_keeps_what_its_hoses_kept_whatever_their_page_says_later(self):
        known = _known(Weighing(allowance=WEIGHS), _hoses(7, "H-2"))
        typed = CHARGE | {"mass": "337"}
        before = replace(
            earlier(StepKind.CHARGE, typed | {"hoses": "NOT_KNOWN"}),
            values=values(StepKind.CHARGE, typed, known),
            answer=ask(StepKind.CHARGE, typed, known),
        )
        remeasured = _known(
            Weighing(allowance=WEIGHS), _hoses(7, "H-2", HoseMeasures(content_m3=90e-6)), earlier=(before,)
        )

        assert remeasured.charged_before_kg == pytest.approx(0.300, abs=0.001)


class TestToleranceOfTheMachine:
    def test_stands_in_where_the_label_gives_none(self):
        known = _known(Weighing(tolerance_kg=0.03, allowance=WEIGHS), _hoses(7, "H-2"), tolerance_kg=None)

        answer = ask(StepKind.CHARGE, CHARGE | {"mass": "612"}, known)

        assert {"charge_agrees", "tolerance_of_machine"} <= answer.codes

    def test_coarser_than_the_label_is_warned_of(self):
        known = _known(Weighing(tolerance_kg=0.03, allowance=WEIGHS), _hoses(7, "H-2"), tolerance_kg=0.01)

        assert "scale_too_coarse" in ask(StepKind.CHARGE, CHARGE | {"mass": "587"}, known).codes


def _sentences(answer: Any) -> str:
    return " ".join(finding.sentence for finding in answer.findings)
