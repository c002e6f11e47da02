"""Every kind of step is described once and completely."""

from __future__ import annotations

import pytest

from jobs.choices import StepKind
from jobs.steps.cautions import CautionKind, cautions
from jobs.steps.fields import OTHER_INSTRUMENT, FieldKind
from jobs.steps.registry import STEPS, step_of
from shopcool.engineering.quantities import Kind, units_of
from shopcool.vehicles.choices import Refrigerant
from tests.jobs.steps.asking import context
from tests.jobs.visit import BELT, ELECTRIC

EVERY_FIELD = [(kind, spec) for kind, step in STEPS.items() for spec in step.fields]


class TestRegistry:
    def test_knows_every_kind_of_step(self):
        assert set(STEPS) == set(StepKind)

    @pytest.mark.parametrize("kind", list(StepKind))
    def test_names_no_field_twice(self, kind):
        names = [spec.name for spec in step_of(kind).fields]

        assert len(names) == len(set(names))


def every(condition):
    """Run a test for every field that meets a condition."""
    chosen = [pair for pair in EVERY_FIELD if condition(pair[1])]
    names = [f"{kind.value}-{spec.name}" for kind, spec in chosen]
    return pytest.mark.parametrize(("kind", "spec"), chosen, ids=names)


class TestField:
    @every(lambda spec: True)
    def test_has_what_its_kind_needs(self, kind, spec):
        assert (spec.quantity is not None) == (spec.kind is FieldKind.QUANTITY)
        assert bool(spec.choices) == (spec.kind in {FieldKind.CHOICE, FieldKind.MULTI, FieldKind.YES_NO})
        assert (spec.pieces is not None) == (spec.kind in {FieldKind.PIECE, FieldKind.INSTRUMENT})
        assert spec.sources == (spec.quantity is Kind.PRESSURE and not spec.is_air)

    @every(lambda spec: spec.quantity is not None)
    def test_offers_a_unit_of_its_quantity(self, kind, spec):
        assert context().unit_of(spec) in units_of(spec.quantity)

    @every(lambda spec: spec.minimum is not None or spec.maximum is not None)
    def test_says_a_sentence_where_it_has_limits(self, kind, spec):
        assert str(spec.range_sentence).endswith(".")

    @every(lambda spec: spec.shown_if is not None)
    def test_depends_only_on_a_field_asked_before_it(self, kind, spec):
        fields = step_of(kind).fields

        asked_before = {other.name: other for other in fields[: fields.index(spec)]}

        assert spec.shown_if.field in asked_before
        decides = asked_before[spec.shown_if.field]
        chosen_from = {value for value, _ in decides.choices}
        if decides.kind is FieldKind.INSTRUMENT:
            chosen_from = {OTHER_INSTRUMENT}
        assert set(spec.shown_if.values) <= chosen_from


class TestCautions:
    def test_warn_of_high_voltage_only_where_it_is(self):
        assert CautionKind.HIGH_VOLTAGE in {item.kind for item in cautions(StepKind.PARTS, ELECTRIC)}
        assert CautionKind.HIGH_VOLTAGE not in {item.kind for item in cautions(StepKind.PARTS, BELT)}

    @pytest.mark.parametrize(
        ("gas", "flammable"),
        # ISO 817:2014: R-1234yf and R-152a are classes 2L and 2, R-134a and R-744 class 1.
        [
            (Refrigerant.R1234YF, True),
            (Refrigerant.R152A, True),
            (Refrigerant.R134A, False),
            (Refrigerant.R744, False),
        ],
    )
    def test_warn_of_fire_by_the_refrigerant(self, gas, flammable):
        facts = type(BELT)(BELT.service, gas, BELT.lubricant, BELT.drive, 0.5)

        kinds = {item.kind for item in cautions(StepKind.CHARGE, facts)}

        assert (CautionKind.FLAMMABLE in kinds) == flammable

    def test_stand_at_every_step_that_opens_refrigerant(self):
        for kind in (StepKind.RECOVERY, StepKind.CHARGE, StepKind.DISCONNECTION):
            assert {CautionKind.PRESSURE, CautionKind.FROST, CautionKind.ASPHYXIATION} <= {
                item.kind for item in cautions(kind, ELECTRIC)
            }
