"""The values of a step on paper: what was typed, and beside it what it means in the reader's units."""

from __future__ import annotations

from django.utils.translation import gettext as _

from jobs.steps.answers import Output
from jobs.steps.display import told, told_again
from jobs.steps.fields import FieldSpec
from jobs.steps.values import Values
from shopcool.core.documents import Fact
from shopcool.shop.units import Units


def value_fact(spec: FieldSpec, values: Values, units: Units) -> Fact | None:
    """Return a recorded value, None when there is none."""
    found = told(spec, values, units)
    if not found.typed:
        return None
    beside = (*found.meanings, found.shown_by)
    return Fact(str(spec.label), found.typed, ", ".join(part for part in beside if part))


def computed_fact(output: Output, units: Units) -> Fact:
    """Return what was computed: in the reader's units, then as it was recorded, then metric."""
    if not output.text:
        return Fact(output.label, _("not known"), _("computed"), known=False)
    first, *others = told_again(output, units)
    return Fact(output.label, first, ", ".join((_("computed"), *others)))
