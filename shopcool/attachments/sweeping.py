"""Files without a row are swept away; rows without their file, or with another one, are named."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from itertools import islice
from pathlib import Path

from shopcool.attachments.models import Attachment
from shopcool.attachments.storage import file_path, sha256_of, stored_before, thumbnail_path

#: No transaction is open for so long: a file this old without a row was left behind.
GRACE = timedelta(days=1)
AT_ONCE = 1000


def attachments_sweep(*, now: datetime) -> list[Path]:
    """Remove files that have had no row for a day, and return where they were."""
    removed: list[Path] = []
    old = stored_before((now - GRACE).timestamp())
    while batch := list(islice(old, AT_ONCE)):
        names = {public_id for public_id, _path in batch}
        known = set(Attachment.objects.filter(public_id__in=names).values_list("public_id", flat=True))
        for public_id, path in batch:
            if public_id not in known or path.suffix == ".part":
                path.unlink(missing_ok=True)
                removed.append(path)
    return removed


def changed_files() -> Iterator[str]:
    """Yield a sentence for every attachment whose file or thumbnail is missing or was changed."""
    for row in Attachment.objects.order_by("pk").iterator(chunk_size=AT_ONCE):
        looked_at = (
            ("file", file_path(row.public_id, row.type), row.sha256),
            ("thumbnail", thumbnail_path(row.public_id), row.thumbnail_sha256),
        )
        for what, path, expected in looked_at:
            found = sha256_of(path)
            if found != expected:
                finding = "was changed" if found else "is missing"
                yield f"{what} of attachment {row.public_id} ({row.name}) {finding}"
