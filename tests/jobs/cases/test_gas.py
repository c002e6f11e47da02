"""What the identifier says: three results, one expected gas, and one way for everything that fails."""

from __future__ import annotations

import pytest

from equipment.choices import PieceKind
from equipment.ledger import Content
from equipment.services.ledger import account_of_piece
from jobs.choices import StepKind
from jobs.procedure import Outcome, StepStatus
from jobs.steps.answers import Tone
from shopcool.vehicles.choices import Refrigerant
from tests.jobs.cases.car import Car, output, said

pytestmark = pytest.mark.django_db

MARKED_ONLY = "Only recover it into a cylinder marked for contaminated refrigerant; never into a machine."


@pytest.fixture(autouse=True)
def label_read(arrived_car: Car) -> None:
    """The label was read and the vehicle made safe."""
    arrived_car.bay.record(StepKind.LABEL)
    arrived_car.bay.record(StepKind.HIGH_VOLTAGE)


class TestFieldSurvey:
    """An old car with 25.5 % of its own gas, 2.4 % of another and 72.1 % hydrocarbon; it cooled badly because
    of a restricted line (trade association, 2013).
    """

    blend = {"purity": "25.5", "hydrocarbon": "72.1", "other": "2.4", "other_named": "R-134a", "air": "0"}

    @pytest.fixture(autouse=True)
    def old_car(self, arrived_car: Car) -> None:
        arrived_car.bay.job.circuit.refrigerant = Refrigerant.R12
        arrived_car.bay.job.circuit.save()

    def test_is_flammable_and_no_machine_takes_it(self, arrived_car: Car) -> None:
        answer = arrived_car.tried(StepKind.IDENTIFICATION, **self.blend)

        assert answer.outcome is Outcome.FAILED
        assert said(answer, "purity_failed") == "Not R-12, or not pure enough: a machine must not take it."
        assert "may be flammable" in said(answer, "hydrocarbon_found")
        assert said(answer, "marked_cylinder_only") == MARKED_ONLY

    def test_leaves_by_a_marked_cylinder_and_the_complaint_stays_open(self, arrived_car: Car) -> None:
        bay = arrived_car.bay
        hoses = bay.workshop.piece("H-99")
        cylinder = bay.workshop.piece("C-99", PieceKind.RECOVERY_CYLINDER, is_marked_for_contaminated=True)
        bay.workshop.purge(bay.machine, hoses)
        bay.record(StepKind.IDENTIFICATION, **self.blend)

        refused = bay.connect()
        assert "The identifier found contaminated or different refrigerant." in {
            reason.sentence for reason in refused.decision.refusals
        }
        assert bay.connect(hoses, cylinder).connected
        marked = {"into": "MARKED_CYLINDER", "cylinder": str(cylinder.pk)}
        assert arrived_car.refused(StepKind.RECOVERY, **marked, destination="") == {
            "destination": ["This is needed."]
        }
        bay.record(StepKind.RECOVERY, **marked, destination="Reclaimer, Dock 4, Harbour")

        assert account_of_piece(cylinder).content == Content.CONTAMINATED
        assert bay.situation.context.latest(StepKind.LABEL).text("complaint") == "does not cool"


class TestEdges:
    """98.0 % passes, 2.0 % hydrocarbon alarms on its own, air counts only beside a pure gas (maker, 2004)."""

    @pytest.mark.parametrize(
        ("purity", "hydrocarbon", "air", "outcome", "warns"),
        [
            ("98.0", "0", "0.4", Outcome.PASSED, []),
            ("97.9", "0", "0.4", Outcome.FAILED, []),
            ("98.0", "2.0", "0.4", Outcome.FAILED, []),
            ("99.5", "0", "6", Outcome.PASSED, ["air_found"]),
        ],
    )
    def test_are_three_results(
        self, arrived_car: Car, purity: str, hydrocarbon: str, air: str, outcome: Outcome, warns: list[str]
    ) -> None:
        answer = arrived_car.tried(StepKind.IDENTIFICATION, purity=purity, hydrocarbon=hydrocarbon, air=air)

        assert answer.outcome is outcome
        assert [one.code for one in answer.of_tone(Tone.WARNING)] == warns
        assert output(answer, "expected").text == "R-1234yf"

    def test_of_two_tests_are_never_averaged(self, arrived_car: Car) -> None:
        arrived_car.bay.record(StepKind.IDENTIFICATION, purity="99.9")
        arrived_car.bay.record(StepKind.IDENTIFICATION, purity="97")

        assert arrived_car.bay.situation.case.is_foul


class TestTooLittle:
    """An identifier needs about 2.5 bar; below 30 g of gas it may not answer (workshop text, 2021)."""

    def test_is_no_failure_and_no_pass(self, arrived_car: Car) -> None:
        answer = arrived_car.tried(
            StepKind.IDENTIFICATION, result="NOT_ANALYSABLE", reason="PRESSURE_TOO_LOW", filter="DISCOLOURED"
        )

        assert answer.outcome is Outcome.NOT_ANALYSABLE
        assert said(answer, "not_analysable") == (
            "Not analysable is neither pass nor fail: follow the vehicle maker's procedure for it."
        )
        assert "filter is discoloured" in said(answer, "filter_discoloured")

    def test_needs_a_reason(self, arrived_car: Car) -> None:
        refused = arrived_car.refused(StepKind.IDENTIFICATION, result="NOT_ANALYSABLE", reason="")

        assert refused == {"reason": ["This is needed."]}


class TestExpectedGas:
    def test_that_nobody_knows_passes_nothing(self, arrived_car: Car) -> None:
        arrived_car.bay.job.circuit.refrigerant = Refrigerant.UNKNOWN
        arrived_car.bay.job.circuit.save()

        answer = arrived_car.tried(StepKind.IDENTIFICATION)

        assert not answer.satisfied
        assert said(answer, "nothing_expected").startswith("The vehicle's data names no refrigerant")

    def test_that_was_corrected_later_is_identified_again(self, arrived_car: Car) -> None:
        # The mislabelled car: 99.7 % of the wrong gas would be in the machine's tank.
        bay = arrived_car.bay
        bay.record(StepKind.IDENTIFICATION)
        assert bay.state(StepKind.IDENTIFICATION).is_done

        bay.job.circuit.refrigerant = Refrigerant.R134A
        bay.job.circuit.save()

        assert bay.state(StepKind.IDENTIFICATION).status is StepStatus.NEXT
        assert "The gas was not identified as the refrigerant that the vehicle's data names now." in {
            reason.sentence for reason in bay.state(StepKind.CONNECTION).reasons
        }
