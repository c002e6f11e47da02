"""The named errors of the equipment services."""

from __future__ import annotations

from shopcool.core.errors import Conflict, DomainError


class PieceBusy(Conflict):
    """The piece is on another vehicle; the message says who has it."""

    code = "piece_busy"


class NotInThePast(DomainError):
    """An entry claims to have happened later than now."""

    code = "in_the_future"


class ReasonMissing(DomainError):
    """An action that must be explained came without a reason."""

    code = "reason_missing"


class PurgeImpossible(DomainError):
    """The loop of a purge can't be built like this."""

    code = "purge_impossible"


class CannotWithdraw(DomainError):
    """An entry of the log can't be withdrawn."""

    code = "cannot_withdraw"


class ContactUnclear(DomainError):
    """A declared contact that says nothing about what was touched."""

    code = "contact_unclear"


class NotWetted(DomainError):
    """An instrument or protection was treated like something that refrigerant passes through."""

    code = "not_wetted"


class UnknownPiece(DomainError):
    """A piece that was named does not exist or is retired."""

    code = "unknown_piece"
    status = 404


class PlanImpossible(DomainError):
    """A maintenance plan that asks for nothing, or for something its piece does not have."""

    code = "plan_impossible"


class PlanChanged(Conflict):
    """Somebody else changed the plan while it was being edited."""

    code = "plan_changed"


class WorkImpossible(DomainError):
    """A record of work that can't be true or proves nothing."""

    code = "work_impossible"


class SubmissionReused(Conflict):
    """A form that was recorded already came again with something else in it."""

    code = "submission_reused"
