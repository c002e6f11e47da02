"""Close-out: what the customer takes along, and when the vehicle comes again."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from jobs.errors import ValuesInvalid
from jobs.procedure import Outcome
from jobs.steps.answers import Answer, good
from jobs.steps.context import StepContext
from jobs.steps.fields import day, long_text, yes_no
from jobs.steps.next_service import proposal_findings
from jobs.steps.values import Values

FIELDS = (
    day("next_service_on", gettext_lazy("Next service")),
    yes_no("customer_told", gettext_lazy("Findings explained to the customer")),
    long_text("remarks", gettext_lazy("Remarks for the report")).optional(),
)


def evaluate(values: Values, context: StepContext) -> Answer:
    """Return that the visit is finished; the next service lies in the future."""
    following = values.day("next_service_on")
    if following is None or following <= context.today:
        raise ValuesInvalid({"next_service_on": [_("The next service lies in the future.")]})
    finding = good("closed", _("The visit is complete."))
    return Answer(Outcome.DONE, findings=(finding, *proposal_findings(following, context)))
