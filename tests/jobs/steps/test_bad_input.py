"""Whatever is typed into any field of any step: a sentence beside the field, and nothing typed is lost."""

from __future__ import annotations

from typing import Any

import pytest
from django.http import QueryDict
from django.utils.html import escape

from jobs.choices import StepKind
from jobs.errors import ValuesInvalid
from jobs.forms.steps import StepForm
from jobs.steps.fields import FieldKind, FieldSpec
from jobs.steps.reading import read_values
from jobs.steps.registry import STEPS
from shopcool.engineering.quantities import Kind
from tests.jobs.steps.asking import context

CONTEXT = context()
TEXTS = ["\x00", "\ud800", ["x"], {"a": 1}, True]
NUMBERS = [
    "NaN", "-Infinity", "1e400", "abc", "--5", "4,5,6", "1,234", "12 furlong", "oz",
    ["5"], {"a": 1}, True, float("nan"), float("inf"),
]  # fmt: skip
NAMES = ["NO_SUCH", ["NO_SUCH"], {"a": 1}, 5]
PIECES = ["77", "-1", "1e5", "M-1", ["1"], {"id": 1}]
#: What can't be a value of a field, by the kind of field.
IMPOSSIBLE: dict[FieldKind, list[Any]] = {
    FieldKind.QUANTITY: NUMBERS,
    FieldKind.TEXT: ["x" * 401, *TEXTS],
    FieldKind.LONG_TEXT: ["x" * 40_001, *TEXTS],
    FieldKind.CHOICE: [*NAMES, True],
    FieldKind.MULTI: [*NAMES, True, [["x"]], [None]],
    FieldKind.YES_NO: NAMES,
    FieldKind.DATE: [*NAMES, "31.3.27", "tomorrow", "2026-02-30"],
    FieldKind.PIECE: PIECES,
    FieldKind.LOT: PIECES,
    FieldKind.INSTRUMENT: PIECES,
}
WRITTEN = {FieldKind.QUANTITY, FieldKind.TEXT, FieldKind.LONG_TEXT, FieldKind.DATE}
STEPS_WITH_FIELDS = [kind for kind, step in STEPS.items() if step.fields]


def asked(kind: StepKind, spec: FieldSpec) -> dict[str, Any]:
    """Return the answers that make a step ask for a field."""
    raw: dict[str, Any] = {}
    by_name = {other.name: other for other in STEPS[kind].fields}
    while spec.shown_if is not None:
        raw[spec.shown_if.field] = spec.shown_if.values[0]
        spec = by_name[spec.shown_if.field]
    return raw


def sentence(kind: StepKind, spec: FieldSpec, **typed: Any) -> str:
    """Return what is said beside a field; everything that is typed must be refused."""
    with pytest.raises(ValuesInvalid, match=r"[.?)]$") as refused:
        read_values(STEPS[kind].fields, asked(kind, spec) | typed, CONTEXT)
    assert spec.name in refused.value.fields, f"{spec.name} took {typed!r}"
    return refused.value.fields[spec.name][0]


def quantities(kind: StepKind, quantity: Kind | None = None) -> list[FieldSpec]:
    """Return the fields of a step that take a number, all of them or those of one quantity."""
    found = [spec for spec in STEPS[kind].fields if spec.quantity is not None]
    return [spec for spec in found if quantity in {None, spec.quantity}]


@pytest.mark.parametrize("kind", STEPS_WITH_FIELDS)
class TestEveryField:
    def test_refuses_what_can_not_be_its_value(self, kind: StepKind) -> None:
        for spec in STEPS[kind].fields:
            for typed in IMPOSSIBLE[spec.kind]:
                assert len(sentence(kind, spec, **{spec.name: typed})) > len("No.")

    def test_that_is_needed_says_so_when_nothing_is_typed(self, kind: StepKind) -> None:
        for spec in STEPS[kind].fields:
            for typed in (None, "", "  \t", []):
                raw = asked(kind, spec) | {spec.name: typed}
                with pytest.raises(ValuesInvalid, match=r".") as refused:
                    read_values(STEPS[kind].fields, raw, CONTEXT)
                said = refused.value.fields.get(spec.name)
                assert (said == ["This is needed."]) == spec.required, spec.name

    def test_of_a_quantity_refuses_another_unit_and_what_lies_far_outside(self, kind: StepKind) -> None:
        for spec in quantities(kind):
            other = "kg" if spec.quantity is not Kind.MASS else "psi"
            assert other in sentence(kind, spec, **{spec.name: f"5 {other}"})
            assert "furlong" in sentence(kind, spec, **{spec.name: "5", f"{spec.name}_unit": "furlong"})
            for typed in ("1e30", "-1e30"):
                assert sentence(kind, spec, **{spec.name: typed})

    def test_of_a_pressure_refuses_a_kind_or_a_source_that_nobody_knows(self, kind: StepKind) -> None:
        for spec in quantities(kind, Kind.PRESSURE):
            sideways = sentence(kind, spec, **{spec.name: "1 bar", f"{spec.name}_basis": "sideways"})
            assert sideways == "A pressure is gauge, absolute or vacuum."
            if not spec.is_air:
                dreamt = sentence(kind, spec, **{spec.name: "1 bar", f"{spec.name}_source": "DREAM"})
                assert dreamt == "Say what showed the pressure: a gauge or a scan tool."

    def test_of_a_volume_refuses_ounces_of_no_country(self, kind: StepKind) -> None:
        for spec in quantities(kind, Kind.VOLUME):
            for typed in ("oz", "5 oz", "5 fl oz", "5 ounces"):
                assert sentence(kind, spec, **{spec.name: typed})


@pytest.mark.parametrize("kind", STEPS_WITH_FIELDS)
def test_form_keeps_everything_and_says_each_sentence_beside_its_field(kind: StepKind) -> None:
    fields = STEPS[kind].fields
    typed = {spec.name: f"<{spec.name}> 4,5,6 {'x' * 1000}" for spec in fields if spec.kind in WRITTEN}
    typed |= {spec.shown_if.field: spec.shown_if.values[0] for spec in fields if spec.shown_if}
    data = QueryDict(mutable=True)
    data.update(typed)
    form = StepForm(fields, CONTEXT, data)
    assert form.is_valid()

    with pytest.raises(ValuesInvalid, match=r".") as refused:
        read_values(fields, form.raw, CONTEXT)
    form.refuse(refused.value)

    assert form.status == 422
    assert {bound.name: list(bound.errors) for bound in form.wrong_fields} == refused.value.fields
    for name, text in typed.items():
        assert escape(text) in str(form[name])
