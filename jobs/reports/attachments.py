"""The photos and PDFs of a job on paper: what they are, by what they are recognised, and small pictures."""

from __future__ import annotations

from base64 import b64encode
from io import BytesIO

from django.utils.translation import gettext as _
from PIL import Image

from jobs.reports.gathering import Gathered
from jobs.reports.words import SHOWN_OF_HASH, moment_words
from shopcool.attachments.gallery import size_words
from shopcool.attachments.models import Attachment
from shopcool.core.documents import Photo, Section, Table


def attachments_section(gathered: Gathered) -> Section | None:
    """Return every file with who attached it and when; None when nothing is attached."""
    if not gathered.attachments:
        return None
    columns = (_("What it shows"), _("File"), _("Attached"), _("SHA-256"))
    rows = tuple(_row(row) for row in gathered.attachments)
    text = _("The files are kept with the job. The SHA-256 of a file shows whether it is the same.")
    small = gathered.thumbnails
    photos = tuple(
        _photo(row, small[row.public_id]) for row in gathered.attachments if row.public_id in small
    )
    return Section(
        _("Photos and documents"), text, tables=(Table(columns, (4, 4, 4, 3), rows),), photos=photos
    )


def _row(row: Attachment) -> tuple[str, ...]:
    attached = f"{moment_words(row.recorded_at)}\n{row.recorded_by_name}"
    return row.caption or "–", f"{row.name}\n{size_words(row)}", attached, f"{row.sha256[:SHOWN_OF_HASH]}…"


def _photo(row: Attachment, thumbnail: bytes) -> Photo:
    with Image.open(BytesIO(thumbnail), formats=["JPEG"]) as small:
        width, height = small.size
    return Photo(b64encode(thumbnail).decode(), width, height, str(row))
