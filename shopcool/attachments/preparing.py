"""From what somebody sent to what is stored."""

from __future__ import annotations

import threading
import unicodedata
from dataclasses import dataclass
from typing import Any

from django.core.files.uploadedfile import UploadedFile
from django.utils.translation import gettext as _

from shopcool.attachments.errors import FileRefused
from shopcool.attachments.limits import largest_file
from shopcool.attachments.media import MediaType, is_phone_picture, sniff
from shopcool.attachments.models import LONGEST_NAME
from shopcool.attachments.papers import paper_prepare
from shopcool.attachments.photos import photo_prepare
from shopcool.attachments.storage import Prepared

#: One picture at a time in a process: a large one needs some hundred megabytes while it is drawn.
_TURN = threading.Lock()


@dataclass(frozen=True)
class Upload:
    """A file as it was sent, under the name it had there."""

    name: str
    content: bytes

    @classmethod
    def of(cls, sent: UploadedFile[Any]) -> Upload:
        """Return what a request brought; raises FileRefused before a file that is too large is read."""
        if (sent.size or 0) > largest_file():
            raise _too_large()
        return cls(sent.name or "", sent.read())


def prepare(upload: Upload) -> Prepared:
    """Return the file as it will be stored; raises FileRefused."""
    content = upload.content
    if not content:
        raise FileRefused(_("The file is empty."))
    if len(content) > largest_file():
        raise _too_large()
    media_type = sniff(content)
    if media_type is MediaType.PDF:
        return paper_prepare(content)
    if media_type is not None:
        with _TURN:
            return photo_prepare(content, media_type)
    if is_phone_picture(content):
        raise FileRefused(
            _("HEIC and AVIF pictures can't be opened here. Set the camera to JPEG (most compatible).")
        )
    raise FileRefused(_("Only photos (JPEG, PNG, WebP) and PDFs can be attached; this is something else."))


def name_cleaned(name: str, media_type: MediaType) -> str:
    """Return the name of a file without folders and invisible letters, with the ending of its true type."""
    last = unicodedata.normalize("NFC", name).replace("\\", "/").rpartition("/")[2]
    # Categories C: controls, and the marks that make a name read the other way round.
    visible = "".join(letter for letter in last if unicodedata.category(letter)[0] != "C")
    stem = " ".join(visible.split()).strip(". ")
    dot = stem.rfind(".")
    if dot > 0 and len(stem) - dot <= 6:
        stem = stem[:dot].rstrip(". ")
    suffix = media_type.suffix
    return f"{stem[: LONGEST_NAME - len(suffix)] or _('file')}{suffix}"


def _too_large() -> FileRefused:
    limit = {"limit": f"{largest_file() / 1e6:g}"}
    return FileRefused(_("The file is larger than %(limit)s MB. Attach a smaller one.") % limit)
