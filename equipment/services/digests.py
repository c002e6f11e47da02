"""The e-mail of a day to a person: claimed, sent, then marked as sent.

In Shopcool each reminder stands exactly once. The e-mail is sent at least once: a worker that dies
between the mail server's "accepted" and our mark leaves a claim that runs out, and the digest is sent
again with the same Message-ID, by which mail programs recognise it. The other order would lose reminders.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta
from email.utils import parseaddr
from uuid import uuid4

from django.conf import settings
from django.db import transaction
from django.db.models import Exists, F, OuterRef, Q, QuerySet, Subquery

from equipment.reminders.mail import digest_mail
from equipment.reminders.models import Digest, DigestStatus, Reminder, ReminderStatus, Snooze
from shopcool.shop.selectors import shop_get

#: Longer than the time limit of the task: whoever claimed it is certainly gone.
CLAIM_ENDS_AFTER = timedelta(minutes=5)
#: The pauses between them add up to half a day; then the reminders go into the next day's digest.
MOST_ATTEMPTS = 9
SHORTEST_PAUSE, LONGEST_PAUSE = timedelta(minutes=5), timedelta(hours=4)


def mail_is_on() -> bool:
    """Whether this Shopcool was given a mail server."""
    return bool(settings.MAIL_IS_ON)


def digests_open(*, day: date, now: datetime) -> int:
    """Gather what each person was not told by e-mail yet into one digest of the day; return how many.

    Must run in the transaction that writes the reminders. Without a mail server or an address of the
    person everything stays in the list in Shopcool, and goes into the first digest that can be sent.
    """
    if not mail_is_on():
        return 0
    untold = _untold()
    people = sorted(set(untold.values_list("recipient_id", flat=True)))
    domain = parseaddr(settings.DEFAULT_FROM_EMAIL)[1].rpartition("@")[2] or "shopcool.invalid"
    Digest.objects.bulk_create(
        [
            Digest(
                day=day,
                recipient_id=person,
                touched_at=now,
                message_id=f"<{uuid4().hex}@{domain}>",
            )
            for person in people
        ]
    )
    theirs = Digest.objects.filter(day=day, recipient=OuterRef("recipient"))
    untold.update(digest=Subquery(theirs.values("pk")[:1]))
    return len(people)


def _untold() -> QuerySet[Reminder]:
    aside = Snooze.objects.filter(reminder=OuterRef("pk"), ended_at__isnull=True)
    return (
        Reminder.objects.filter(status=ReminderStatus.OPEN, digest__isnull=True, recipient__is_active=True)
        .exclude(recipient__email="")
        .exclude(Exists(aside))
    )


def digests_standing(*, now: datetime) -> list[int]:
    """Return the digests that have to be sent now, and end those that were tried too often."""
    unsent = Digest.objects.filter(status__in=[DigestStatus.WAITING, DigestStatus.CLAIMED]).order_by("pk")
    ready = [digest for digest in unsent if _is_ready(digest, now)]
    for digest in ready:
        if digest.attempts >= MOST_ATTEMPTS:
            _give_up(digest)
    return [digest.pk for digest in ready if digest.attempts < MOST_ATTEMPTS]


def digest_send(*, digest_id: int, now: datetime) -> None:
    """Send a digest that waits; does nothing when somebody else sends it or it was sent.

    Whoever left or took their address away meanwhile gets none. Must run outside a transaction. A mail
    server that does not answer or refuses puts the digest back; the next run tries it again after a pause.
    """
    digest = _claimed(digest_id, now)
    if digest is None:
        return
    if not (digest.recipient.is_active and digest.recipient.email):
        _give_up(digest)
        return
    mail = digest_mail(digest, shop=shop_get())
    if mail is None:
        _end(digest, status=DigestStatus.EMPTY)
        return
    try:
        mail.send()
    except OSError as error:
        _end(digest, status=DigestStatus.WAITING, failure=f"{type(error).__name__}: {error}"[:300])
    else:
        _end(digest, status=DigestStatus.SENT, sent_at=now, failure="")


def _is_ready(digest: Digest, now: datetime) -> bool:
    if digest.status == DigestStatus.CLAIMED:
        return digest.touched_at <= now - CLAIM_ENDS_AFTER
    return digest.touched_at + pause_after(digest.attempts) <= now


def pause_after(attempts: int) -> timedelta:
    """Return how long a digest waits after so many attempts: none at first, then twice as long each time."""
    return min(SHORTEST_PAUSE * 2 ** (attempts - 1), LONGEST_PAUSE) if attempts else timedelta()


def _claimed(digest_id: int, now: datetime) -> Digest | None:
    lost = Q(status=DigestStatus.CLAIMED, touched_at__lte=now - CLAIM_ENDS_AFTER)
    free = Digest.objects.filter(
        Q(status=DigestStatus.WAITING) | lost, pk=digest_id, attempts__lt=MOST_ATTEMPTS
    )
    if not free.update(status=DigestStatus.CLAIMED, attempts=F("attempts") + 1, touched_at=now):
        return None
    return Digest.objects.select_related("recipient").get(pk=digest_id)


def _end(digest: Digest, **values: object) -> None:
    """Write what became of an attempt, unless a later one has begun meanwhile."""
    Digest.objects.filter(pk=digest.pk, status=DigestStatus.CLAIMED, attempts=digest.attempts).update(
        **values
    )


@transaction.atomic
def _give_up(digest: Digest) -> None:
    Reminder.objects.filter(digest=digest).update(digest=None)
    Digest.objects.filter(pk=digest.pk, attempts=digest.attempts).update(status=DigestStatus.FAILED)
