"""The values of a step on paper: what was typed, and beside it what it means in the reader's units."""

from __future__ import annotations

from django.utils.translation import gettext as _

from jobs.steps.answers import Output
from jobs.steps.display import told, told_again
from jobs.steps.fields import FieldKind, FieldSpec
from jobs.steps.values import Values
from shopcool.core.documents import Fact
from shopcool.shop.units import Units

#: A longer text, a pasted vacuum curve for example, runs on instead of filling pages.
MOST_LINES = 12


def value_fact(spec: FieldSpec, values: Values, units: Units) -> Fact | None:
    """Return a recorded value, None when there is none."""
    lines = values.text(spec.name).splitlines() if spec.kind is FieldKind.LONG_TEXT else []
    if len(lines) > MOST_LINES:
        typed = _("%(number)d lines, as typed:") % {"number": len(lines)}
        return Fact(str(spec.label), typed, " · ".join(line.strip() for line in lines))
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
