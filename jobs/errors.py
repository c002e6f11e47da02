"""The named errors of jobs and their steps."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from django.utils.translation import gettext as _

from jobs.procedure import Blocker
from shopcool.core.errors import Conflict, DomainError


class ValuesInvalid(DomainError):
    """Some of the values can't be used; ``fields`` says which, each with its sentences."""

    code = "invalid"

    def __init__(self, fields: Mapping[str, Sequence[str]]) -> None:
        name, sentences = next(iter(fields.items()))
        self.fields = {key: list(value) for key, value in fields.items()}
        super().__init__(sentences[0], field=name)

    @property
    def by_field(self) -> dict[str, list[str]]:
        """Every wrong field with its sentences."""
        return self.fields


class StepBlocked(Conflict):
    """The step may not be done yet; every reason stands in ``reasons``."""

    code = "step_blocked"

    def __init__(self, reasons: Sequence[Blocker]) -> None:
        self.reasons = tuple(reasons)
        first = reasons[0]
        super().__init__(
            f"{first.sentence} {first.fix}",
            details={"reasons": [_as_record(reason) for reason in reasons]},
        )


class StepNotNeeded(Conflict):
    """The step is not part of this job."""

    code = "step_not_needed"


class StepNotRepeatable(Conflict):
    """The step is done and is not done twice; a mistake is corrected with a reason."""

    code = "step_not_repeatable"

    def __init__(self) -> None:
        super().__init__(_("This step is done. Correct its record, with a reason, if it is wrong."))


class StepTaken(Conflict):
    """Somebody else recorded the step after this form was opened; the message says who."""

    code = "step_taken"


class KeyReused(Conflict):
    """The same key came with other input: it would be unclear what was meant."""

    code = "key_reused"

    def __init__(self) -> None:
        super().__init__(_("This form was sent before with other values. Open the step again."))


class JobNotOpen(Conflict):
    """The job is not in the state that the action needs."""

    code = "job_not_open"


class ReasonMissing(DomainError):
    """An action that must be explained came without a reason."""

    code = "reason_missing"


class BookingInvalid(DomainError):
    """The booking makes no sense as it is."""

    code = "booking_invalid"


def _as_record(reason: Blocker) -> dict[str, str]:
    return {
        "code": reason.code,
        "sentence": reason.sentence,
        "fix": reason.fix,
        "step": reason.step.value if reason.step else "",
    }
