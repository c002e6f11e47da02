"""Leak check after the charge: what was searched with, and what it can't see."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from equipment.choices import PieceKind
from jobs.procedure import Outcome
from jobs.steps.answers import COMMON_PRACTICE, Answer, good, note, warning
from jobs.steps.context import StepContext
from jobs.steps.fields import choice, instrument, text
from jobs.steps.values import Values

ELECTRONIC, TRACE_GAS, FOAM, DYE = "ELECTRONIC", "TRACE_GAS", "FOAM", "DYE"
FOUND, NONE_FOUND = "FOUND", "NONE_FOUND"

FIELDS = (
    choice(
        "method",
        gettext_lazy("Searched with"),
        (
            (ELECTRONIC, gettext_lazy("electronic leak detector")),
            (TRACE_GAS, gettext_lazy("nitrogen and hydrogen trace gas")),
            (FOAM, gettext_lazy("foam")),
            (DYE, gettext_lazy("dye that was in the circuit")),
        ),
    ),
    instrument("detector", gettext_lazy("Leak detector"), PieceKind.LEAK_DETECTOR).when(
        "method", ELECTRONIC, TRACE_GAS
    ),
    text(
        "smallest", gettext_lazy("Smallest leak it shows"), help=gettext_lazy("As its maker states it.")
    ).optional(),
    choice(
        "result",
        gettext_lazy("Result"),
        ((NONE_FOUND, gettext_lazy("no leak found")), (FOUND, gettext_lazy("leak found"))),
    ),
    text("where", gettext_lazy("Where")).when("result", FOUND),
)


def evaluate(values: Values, context: StepContext) -> Answer:
    """Return whether a leak was found; not finding one is no proof that there is none."""
    findings = []
    if values.text("method") == DYE and context.case.facts.is_high_voltage:
        sentence = _("Never add dye to a high-voltage circuit; it often carries PAG or solvent.")
        findings.append(warning("dye_in_high_voltage", sentence, source=COMMON_PRACTICE))
    if values.text("result") == FOUND:
        sentence = _("A leak was found: %(where)s. Repair it before the vehicle is charged again.")
        findings.insert(0, warning("leak_found", sentence % {"where": values.text("where")}))
        return Answer(Outcome.LEAK_FOUND, findings=tuple(findings))
    smallest = values.text("smallest")
    if smallest:
        sentence = _("No leak larger than %(smallest)s was found.") % {"smallest": smallest}
        findings.insert(0, good("no_leak_found", sentence))
    else:
        sentence = _("No leak was found; how small a leak the method shows is not on record.")
        findings.insert(0, note("no_leak_found", sentence))
    return Answer(Outcome.NO_LEAK_FOUND, findings=tuple(findings))
