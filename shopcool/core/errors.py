"""The errors of the domain: one base, translated once by each door."""

from __future__ import annotations

from collections.abc import Mapping

from django.utils.functional import Promise
from django.utils.translation import gettext as _

from shopcool.core.actors import Actor
from shopcool.engineering.errors import Refusal


class DomainError(Exception):
    """A refusal with a stable code and a sentence that a person can act on.

    ``field`` names the input to blame, when there is one; ``status`` is the HTTP status both doors use.
    """

    code = "refused"
    status = 400

    def __init__(
        self,
        message: str | Promise,
        *,
        code: str | None = None,
        field: str = "",
        details: Mapping[str, object] | None = None,
    ) -> None:
        super().__init__(str(message))
        self.message = str(message)
        self.code = code or self.code
        self.field = field
        self.details = dict(details or {})

    @property
    def by_field(self) -> dict[str, list[str]]:
        """The sentences of the refusal by the input that each blames."""
        return {self.field: [self.message]} if self.field else {}

    @classmethod
    def from_refusal(cls, refusal: Refusal) -> DomainError:
        """Carry a refusal of the computations to the doors."""
        return cls(refusal.message, code=refusal.code, field=refusal.field, details=refusal.details)


class NotAllowed(DomainError):
    """The person is known but may not do this."""

    code = "not_allowed"
    status = 403


class Conflict(DomainError):
    """Someone else was faster, or the thing is not in the state that the action needs."""

    code = "conflict"
    status = 409


def require(allowed: bool, message: str | Promise = "") -> None:
    """Raise :class:`NotAllowed` unless a policy said yes."""
    if not allowed:
        raise NotAllowed(message or _("You may not do this. Ask the owner of the workshop."))


def require_person(actor: Actor, message: str | Promise = "") -> int:
    """Return the number of the person who acts; raise :class:`NotAllowed` when it is Shopcool itself."""
    if actor.user_id is None:
        raise NotAllowed(message or _("Only a person may do this."))
    return actor.user_id
