"""PDFs: looked at by a process of their own, and kept byte for byte as they came."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

from django.utils.translation import gettext as _

from shopcool.attachments.errors import FileRefused
from shopcool.attachments.limits import MOST_PAGES, THUMBNAIL_EDGE
from shopcool.attachments.media import MediaType
from shopcool.attachments.storage import Prepared

READER = Path(__file__).with_name("pdf_reader.py")
PATIENCE_S = 20.0


def paper_prepare(content: bytes) -> Prepared:
    """Return a PDF with its number of pages and a picture of the first.

    Raises FileRefused when it can't be read, wants a password, takes too long or has too many pages.
    """
    found, picture = _read(content)
    if found.get("refused") == "locked":
        raise FileRefused(_("The PDF wants a password. Save it without one and attach it again."))
    pages = found.get("pages", 0)
    if not picture or not isinstance(pages, int) or pages < 1:
        raise FileRefused(_("The PDF is damaged or incomplete, or its first page can't be drawn."))
    if pages > MOST_PAGES:
        words = {"pages": pages, "limit": MOST_PAGES}
        raise FileRefused(_("The PDF has %(pages)d pages; at most %(limit)d are taken.") % words)
    return Prepared(MediaType.PDF, content, picture, pages=pages)


def _read(content: bytes) -> tuple[dict[str, object], bytes]:
    # Isolated (-I): the reader takes no module from the folder that it happens to run in.
    command = [sys.executable, "-I", str(READER), str(THUMBNAIL_EDGE)]
    try:
        done = subprocess.run(command, input=content, capture_output=True, timeout=PATIENCE_S, check=True)  # noqa: S603
    except (subprocess.TimeoutExpired, subprocess.CalledProcessError):
        return {}, b""
    line, _end, picture = done.stdout.partition(b"\n")
    return json.loads(line), picture
