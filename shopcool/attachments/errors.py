"""Why a file is not attached."""

from __future__ import annotations

from django.utils.functional import Promise

from shopcool.core.errors import Conflict, DomainError


class FileRefused(DomainError):
    """The file can't be kept; the sentence says why and what to do, beside the field it came from."""

    code = "file_refused"

    def __init__(self, message: str | Promise) -> None:
        super().__init__(message, field="file")


class TextTooLong(DomainError):
    """A caption or a reason is longer than its column, or a reason is missing."""

    code = "length"


class KeyReused(Conflict):
    """The key of a form that was sent before came with another thing to attach to."""

    code = "key_reused"


class AlreadyWithdrawn(Conflict):
    """Somebody else was faster, with another reason."""

    code = "already_withdrawn"
