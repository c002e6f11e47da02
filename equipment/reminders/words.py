"""Numbers of reminders and e-mails in words."""

from __future__ import annotations

from django.utils.translation import ngettext


def reminders_words(number: int) -> str:
    """Return how many reminders."""
    return ngettext("%(number)d reminder", "%(number)d reminders", number) % {"number": number}


def emails_words(number: int) -> str:
    """Return how many e-mails."""
    return ngettext("%(number)d e-mail", "%(number)d e-mails", number) % {"number": number}
