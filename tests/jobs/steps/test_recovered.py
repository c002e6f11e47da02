"""What a pull took out: by the machine's own figure, or by the scale of its tank."""

from __future__ import annotations

import pytest

from jobs.choices import StepKind
from jobs.errors import ValuesInvalid
from jobs.steps.recovered import recovered_kg
from shopcool.shop.units import Units
from tests.jobs.steps.asking import ask, context, earlier, values

PULL = {"into": "MACHINE", "machine": "1", "ambient": "21", "pressure_returned": "no"}


class TestTheTank:
    def test_tells_what_was_recovered_where_the_machine_shows_nothing(self):
        answer = ask(StepKind.RECOVERY, PULL | {"tank_start": "5,0", "tank_end": "5.481"})

        assert answer.output("recovered").si == pytest.approx(0.481)
        assert answer.output("recovered").text == "481 g"

    def test_counts_like_a_pull_that_the_machine_showed(self):
        weighed = values(StepKind.RECOVERY, PULL | {"tank_start": "5", "tank_end": "5.2"})
        first = earlier(StepKind.RECOVERY, PULL | {"tank_start": "5", "tank_end": "5.2"}, position=3)

        second = ask(StepKind.RECOVERY, PULL | {"mass": "100"}, context(earlier=(first,)))

        assert recovered_kg(weighed) == pytest.approx(0.2)
        assert second.output("recovered").si == pytest.approx(0.3)

    def test_is_asked_in_the_unit_of_its_scale(self):
        pounds = context(units=Units(mass="oz"))

        answer = ask(StepKind.RECOVERY, PULL | {"tank_start": "11", "tank_end": "12"}, pounds)

        # 1 lb = 0.453 592 37 kg: NIST SP 811:2008, appendix B.8.
        assert answer.output("tank_gain").si == pytest.approx(0.45359237)

    # SAE J2788 section 7.1.3: a machine shows what it recovered within 30 g.
    @pytest.mark.parametrize(("end", "differs"), [("5.509", False), ("5.520", True), ("5.440", True)])
    def test_is_compared_with_what_the_machine_shows(self, end, differs):
        answer = ask(StepKind.RECOVERY, PULL | {"mass": "480", "tank_start": "5", "tank_end": end})

        assert ("tank_differs" in answer.codes) is differs
        assert answer.output("recovered").si == pytest.approx(0.48)

    @pytest.mark.parametrize(
        ("typed", "field", "sentence"),
        [
            ({}, "mass", "what the machine shows, or the tank before and after"),
            ({"tank_start": "5"}, "tank_end", "before and after the pull"),
            ({"mass": "480", "tank_end": "5"}, "tank_start", "before and after the pull"),
            ({"tank_start": "5", "tank_end": "4.9"}, "tank_end", "holds less than before"),
            ({"tank_start": "5", "tank_end": "50"}, "tank_end", "more than 30 kg"),
            ({"tank_start": "5", "tank_end": "5000"}, "tank_end", "more than 500 kg"),
        ],
    )
    def test_is_asked_again_where_it_says_nothing(self, typed, field, sentence):
        with pytest.raises(ValuesInvalid, match=sentence) as refused:
            ask(StepKind.RECOVERY, PULL | typed)

        assert list(refused.value.fields) == [field]
