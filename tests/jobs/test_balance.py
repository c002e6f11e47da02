"""The balance of a charge is drawn to one scale, and told in words."""

from __future__ import annotations

import pytest

from jobs.choices import StepKind
from jobs.pages.balance import BARS_FROM, balance_of
from jobs.steps.values import Values
from tests.jobs.steps.asking import context, earlier, values
from tests.jobs.visit import Visit

IN_HOSES = {"machine": "1", "mass": "600", "hoses": "TYPED", "hose_content": "50"}


def test_a_charge_is_drawn_with_what_was_inside_and_what_the_hoses_keep() -> None:
    first = {"machine": "1", "mass": "100", "hoses": "BY_MACHINE"}
    visit = Visit().did(StepKind.RECOVERY).did(StepKind.CHARGE)
    known = context(visit, earlier=(earlier(StepKind.CHARGE, first, position=2),))

    drawn = balance_of(values(StepKind.CHARGE, IN_HOSES | {"mass": "500"}), known)

    assert drawn is not None
    assert [(row.label, row.mass) for row in drawn.rows] == [
        ("On the label", "550 g"),
        ("In the circuit before", "100 g"),
        ("Weighed in", "500 g"),
        ("Of it in the hoses", "50 g"),
        ("In the circuit afterwards", "550 g"),
    ]
    assert drawn.told.endswith("In the circuit afterwards 550 g; the label allows ± 20 g.")


def test_bars_tolerance_and_label_share_one_scale() -> None:
    drawn = balance_of(values(StepKind.CHARGE, IN_HOSES), context())

    assert drawn is not None
    per_gram = (drawn.label_at - BARS_FROM) / 550
    label, weighed, hoses, after = drawn.rows
    assert [part.width / per_gram for part in weighed.parts] == pytest.approx([550, 50])
    assert [part.is_solid for part in weighed.parts] == [True, False]
    assert hoses.parts[0].width / per_gram == pytest.approx(50)
    assert after.parts[0].width == pytest.approx(label.parts[0].width)
    assert drawn.band_width / per_gram == pytest.approx(40)
    assert drawn.band_from == pytest.approx(drawn.label_at - 20 * per_gram)


def test_before_the_charge_it_shows_what_to_weigh_in() -> None:
    planned = values(StepKind.CHARGE, IN_HOSES).as_record()
    del planned["mass"]

    drawn = balance_of(Values(planned), context())

    assert drawn is not None
    assert ("To be weighed in", "600 g") in [(row.label, row.mass) for row in drawn.rows]


def test_is_not_drawn_where_the_hoses_are_not_known() -> None:
    assert balance_of(values(StepKind.CHARGE, IN_HOSES | {"hoses": "NOT_KNOWN"}), context()) is None
