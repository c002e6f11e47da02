"""A reading that is opened and saved again stays what it was, whoever opens it in whatever units."""

from __future__ import annotations

import pytest

from jobs.forms.steps import CorrectionForm
from jobs.steps.display import display
from jobs.steps.fields import FieldKind, FieldSpec
from jobs.steps.reading import read_values
from shopcool.engineering.quantities import Kind, units_of
from shopcool.shop.units import Units
from tests.jobs.steps.asking import context
from tests.jobs.test_preferred_units import sent

READERS = [
    context(units=Units("psi", "°F", "oz", "US fl oz", atmosphere_pa=84_307.0)),
    context(units=Units("bar", "°C", "g", "ml", atmosphere_pa=84_307.0)),
]
EVERY_UNIT = [(kind, unit) for kind in Kind for unit in units_of(kind)]


@pytest.mark.parametrize(("kind", "unit"), EVERY_UNIT)
@pytest.mark.parametrize("typed", ["0,1", "0.7 {unit}", "1,07{unit}"])
def test_twenty_times_opened_and_saved_changes_nothing(kind: Kind, unit: str, typed: str) -> None:
    spec = FieldSpec("x", "Reading", FieldKind.QUANTITY, quantity=kind, sources=kind is Kind.PRESSURE)
    raw = {
        "x": typed.format(unit=unit),
        "x_unit": unit,
        "x_basis": "absolute" if kind is Kind.PRESSURE else "",
    }
    first = values = read_values([spec], raw, READERS[0])

    for number in range(20):
        reader = READERS[number % 2]
        values = read_values([spec], sent(CorrectionForm([spec], reader, values=values.stored)), reader)

    assert values.si("x") == first.si("x")
    assert {**values.stored["x"], "typed": ""} == {**first.stored["x"], "typed": ""}
    for reader in READERS:
        told = [display(spec, one, reader.units).replace(" ", "") for one in (first, values)]
        assert told[0] == told[1]
