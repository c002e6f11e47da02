"""How much is taken, and how large it is kept."""

from __future__ import annotations

from django.conf import settings

#: The longest edge of a stored photo and of a thumbnail, in pixels.
LONG_EDGE = 2560
THUMBNAIL_EDGE = 480
MOST_PAGES = 200
#: Files in one form.
MOST_FILES = 10


def largest_file() -> int:
    """Return the largest file that is taken, in bytes."""
    return int(settings.ATTACHMENT_MEGABYTES * 1_000_000)


def largest_request() -> int:
    """Return the largest request that is read at all, in bytes: a few files, and the other fields."""
    return largest_file() * MOST_FILES // 2 + 1_000_000


def most_pixels() -> int:
    """Return the most pixels of a picture that is opened."""
    return int(settings.ATTACHMENT_MEGAPIXELS * 1_000_000)
