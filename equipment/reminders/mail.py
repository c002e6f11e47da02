"""What the e-mail of a digest says."""

from __future__ import annotations

from email.utils import formataddr
from urllib.parse import urljoin

from django.conf import settings
from django.core.mail import EmailMultiAlternatives
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from equipment.reminders.models import Digest, Reminder, ReminderStatus
from equipment.reminders.words import reminders_words
from shopcool.shop.models import Shop


def digest_mail(digest: Digest, *, shop: Shop) -> EmailMultiAlternatives | None:
    """Return the e-mail of a digest as text and as HTML, None when all of it is done meanwhile."""
    rows = list(digest.reminders.filter(status=ReminderStatus.OPEN).order_by("due_on", "pk"))
    if not rows:
        return None
    overdue = sum(row.due_on < digest.day for row in rows)
    context = {
        "shop": shop,
        "person": digest.recipient,
        "day": digest.day,
        "rows": [(row, reminder_address(row)) for row in rows],
        "list_address": address(reverse("equipment:reminders")),
    }
    mail = EmailMultiAlternatives(
        subject=f"{shop.name}: {_counted(len(rows), overdue)}",
        body=render_to_string("equipment/mail/digest.txt", context),
        to=[formataddr((digest.recipient.full_name, digest.recipient.email))],
        headers={"Message-ID": digest.message_id, "Auto-Submitted": "auto-generated"},
    )
    mail.attach_alternative(render_to_string("equipment/mail/digest.html", context), "text/html")
    return mail


def _counted(number: int, overdue: int) -> str:
    words = reminders_words(number)
    if not overdue:
        return words
    late = ngettext("%(number)d overdue", "%(number)d overdue", overdue) % {"number": overdue}
    return _("%(reminders)s, %(overdue)s") % {"reminders": words, "overdue": late}


def reminder_path(reminder: Reminder) -> str:
    """Return the page on which a reminder is dealt with: of the piece, of the lot or of the person."""
    if reminder.piece_code:
        return reverse("equipment:piece", args=[reminder.piece_code])
    if reminder.lot_code:
        return reverse("equipment:oil_lot", args=[reminder.lot_code])
    return reverse("people:person_detail", args=[reminder.person_id]) if reminder.person_id else ""


def reminder_address(reminder: Reminder) -> str:
    """Return the whole address of that page, empty where Shopcool does not know its own address."""
    return address(reminder_path(reminder))


def address(path: str) -> str:
    """Return the whole address of one of our pages, empty where Shopcool does not know its own address."""
    return urljoin(settings.PUBLIC_URL, path) if settings.PUBLIC_URL and path else ""
