"""Attaching files and taking them back."""

from __future__ import annotations

import hashlib
from datetime import datetime
from uuid import UUID

from django.db import OperationalError, connection, transaction
from django.utils.translation import gettext as _

from shopcool.attachments.errors import AlreadyWithdrawn, KeyReused, TextTooLong
from shopcool.attachments.models import (
    LONGEST_CAPTION,
    LONGEST_REASON,
    Attachment,
    Withdrawal,
    new_public_id,
)
from shopcool.attachments.parents import Parent, may_add_to
from shopcool.attachments.policies import may_withdraw
from shopcool.attachments.preparing import Upload, name_cleaned, prepare
from shopcool.attachments.storage import Prepared, keep, remove
from shopcool.core.actors import Actor
from shopcool.core.errors import require, require_person
from shopcool.core.records import append


def attachment_add(
    *, actor: Actor, parent: Parent, upload: Upload, submission_key: UUID, now: datetime, caption: str = ""
) -> Attachment:
    """Attach a file to a thing that the actor may see; the same file of one form sent twice is attached once.

    Raises NotAllowed, FileRefused, TextTooLong, KeyReused. The file is complete on the disk before its row is
    written, and gone again when the row is not.
    """
    require(may_add_to(actor, parent))
    require_person(actor)
    words = _text(caption, "caption", LONGEST_CAPTION)
    source = hashlib.sha256(upload.content).hexdigest()
    earlier = _earlier(parent, submission_key, source)
    if earlier is not None:
        return earlier
    prepared = prepare(upload)
    row = _row(parent, upload, prepared)
    row.caption, row.source_sha256, row.submission_key = words, source, submission_key
    keep(row.public_id, prepared)
    try:
        kept = _record(row, parent, actor, now)
    except OperationalError:
        # Nobody knows whether the row was written before the connection broke; the sweep looks a day later.
        raise
    except BaseException:
        remove(row.public_id, prepared.media_type)
        raise
    if kept is not row:
        remove(row.public_id, prepared.media_type)
    return kept


@transaction.atomic
def attachment_withdraw(*, actor: Actor, attachment: Attachment, reason: str, now: datetime) -> Withdrawal:
    """Take an attachment back; the file stays, and only an owner still sees it.

    Raises NotAllowed, TextTooLong, AlreadyWithdrawn unless it was with the same words.
    """
    require(may_withdraw(actor, attachment))
    words = _text(reason, "reason", LONGEST_REASON)
    if not words:
        raise TextTooLong(_("Say why, in a few words."), field="reason")
    _wait_for(attachment.pk)
    earlier = Withdrawal.objects.filter(attachment=attachment).first()
    if earlier is None:
        stream = f"withdrawal:{attachment.parent_kind}:{attachment.parent_key}"
        row = Withdrawal(attachment=attachment, reason=words)
        return append(row, stream=stream, actor=actor, now=now)
    if earlier.reason != words or earlier.recorded_by_id != actor.user_id:
        raise AlreadyWithdrawn(_("%(who)s withdrew it before.") % {"who": earlier.recorded_by_name})
    return earlier


def _row(parent: Parent, upload: Upload, prepared: Prepared) -> Attachment:
    return Attachment(
        public_id=new_public_id(),
        parent_kind=parent.kind,
        parent_key=parent.key,
        name=name_cleaned(upload.name, prepared.media_type),
        media_type=prepared.media_type,
        byte_size=len(prepared.content),
        width=prepared.width,
        height=prepared.height,
        pages=prepared.pages,
        sha256=hashlib.sha256(prepared.content).hexdigest(),
        thumbnail_sha256=hashlib.sha256(prepared.thumbnail).hexdigest(),
    )


@transaction.atomic
def _record(row: Attachment, parent: Parent, actor: Actor, now: datetime) -> Attachment:
    """Append the row, or return the one that another request with the same form wrote meanwhile."""
    _wait_for(row.submission_key.int)
    earlier = _earlier(parent, row.submission_key, row.source_sha256)
    if earlier is not None:
        return earlier
    return append(row, stream=f"attachment:{parent.kind}:{parent.key}", actor=actor, now=now)


def _earlier(parent: Parent, submission_key: UUID, source_sha256: str) -> Attachment | None:
    found = Attachment.objects.filter(submission_key=submission_key, source_sha256=source_sha256).first()
    if found is not None and (found.parent_kind, found.parent_key) != (parent.kind, parent.key):
        raise KeyReused(_("This form was sent already, for something else. Open it again."))
    return found


def _wait_for(number: int) -> None:
    """Wait until another request about the same has ended; the lock goes with the transaction."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_advisory_xact_lock(%s)", [number % 2**63])


def _text(value: str, field: str, longest: int) -> str:
    words = " ".join(value.split())
    if len(words) > longest:
        sentence = _("Write at most %(longest)d characters here.") % {"longest": longest}
        raise TextTooLong(sentence, field=field)
    return words
