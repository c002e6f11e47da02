"""An isolation code: what its sub-codes say, and no part quoted before somebody has measured."""

from __future__ import annotations

import pytest

from jobs.choices import StepKind
from jobs.procedure import Outcome
from tests.jobs.cases.car import Car, said, words

pytestmark = pytest.mark.django_db


class TestSubCodes:
    """The code with 526, 611 and 614 of several models' tables: no place, the circuit, an area with it."""

    @pytest.mark.parametrize("typed", ["P0AA6-526", "P0AA6 526", "P0AA6/526"])
    def test_without_a_place_condemn_neither_compressor_nor_battery(
        self, arrived_car: Car, typed: str
    ) -> None:
        answer = arrived_car.tried(StepKind.LABEL, fault_codes=typed)

        assert said(answer, "isolation_not_located") == (
            "P0AA6-526 says that insulation fell, not where: it condemns no compressor and no battery. Shut "
            "down, isolate section by section and measure each against the case."
        )
        assert "which oil went in last is not known" in said(answer, "isolation_oil_unknown")

    @pytest.mark.parametrize(
        ("typed", "place", "sentence"),
        [
            ("P0AA6 611", "CIRCUIT", "points at the A/C circuit: compressor and oil first. Measure before"),
            ("P0AA6 614", "AREA", "keeps the compressor in play: isolate section by section and measure"),
            ("P0AA6 612", "ELSEWHERE", "points elsewhere. Measure the insulation there before a part is"),
        ],
    )
    def test_point_where_the_table_of_the_model_says(
        self, arrived_car: Car, typed: str, place: str, sentence: str
    ) -> None:
        answer = arrived_car.tried(
            StepKind.LABEL, fault_codes=typed, isolation_place=place, isolation_source="table of the model"
        )

        assert sentence in words(answer)


class TestQuote:
    """An inverter for 4000 dollars and no insulation value on the job card (shop's case study)."""

    compressor = {"compressor": "yes", "airflow_checked": "yes"}

    def test_for_a_compressor_goes_with_a_measured_value(self, recovered_car: Car) -> None:
        recovered_car.bay.record(StepKind.LABEL, fault_codes="P0AA6")

        assert recovered_car.tried(StepKind.PARTS, **self.compressor).outcome is Outcome.DONE


class TestHalfAMegohm:
    """0.5 MΩ at 500 V for 60 s in a car of 400 V: above both legal floors, and no pass for a compressor."""

    measured = {"resistance": "0.5 MΩ", "nominal_voltage": "500", "applied": "60"}

    def test_has_no_verdict_without_the_maker_s_limit(self, recovered_car: Car) -> None:
        answer = recovered_car.tried(StepKind.INSULATION, **self.measured)

        # 400 V: 40 kΩ at 100 Ω/V and 200 kΩ at 500 Ω/V, UN R100 5.1.3.
        assert answer.outcome is Outcome.NO_VERDICT
        assert said(answer, "above_vehicle_floor") == (
            "Above the legal floor of the whole vehicle, which is no limit for one compressor."
        )
        assert said(answer, "no_limit") == "Without the vehicle maker's limit there is no verdict."

    def test_fails_where_the_maker_asks_for_megohms(self, recovered_car: Car) -> None:
        answer = recovered_car.tried(
            StepKind.INSULATION, **self.measured, limit="5 MΩ", limit_source="manual of the model"
        )

        assert answer.outcome is Outcome.FAILED
        assert said(answer, "below_limit") == "The insulation is below the vehicle maker's limit."

    @pytest.mark.parametrize("missing", ["nominal_voltage", "applied", "disconnected", "surface"])
    def test_is_no_value_without_what_it_was_taken_with(self, recovered_car: Car, missing: str) -> None:
        refused = recovered_car.refused(StepKind.INSULATION, **{missing: ""})

        assert refused == {missing: ["This is needed."]}
