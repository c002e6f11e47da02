"""Where the files lie: below the data folder, outside everything that the web server hands out by itself.

A file is complete before its row is written: temporary name, flushed to the disk, then renamed. What has no
row a day later was left behind by a rolled-back transaction or a killed process and is swept away.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import secrets
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings

from shopcool.attachments.media import MediaType

THUMBNAIL_SUFFIX = ".small.jpg"


@dataclass(frozen=True)
class Prepared:
    """A file as it will be stored, with its thumbnail (JPEG) and its size: pixels of a picture, or pages."""

    media_type: MediaType
    content: bytes
    thumbnail: bytes
    width: int | None = None
    height: int | None = None
    pages: int | None = None


def folder() -> Path:
    """Return the folder of all attachments."""
    return Path(settings.MEDIA_ROOT) / "attachments"


def file_path(public_id: str, media_type: MediaType) -> Path:
    """Return where the file of an attachment lies."""
    return folder() / public_id[:2] / f"{public_id}{media_type.suffix}"


def thumbnail_path(public_id: str) -> Path:
    """Return where the thumbnail of an attachment lies."""
    return folder() / public_id[:2] / f"{public_id}{THUMBNAIL_SUFFIX}"


def keep(public_id: str, prepared: Prepared) -> None:
    """Write file and thumbnail so that both are complete, or not there, whatever happens."""
    try:
        _write(thumbnail_path(public_id), prepared.thumbnail)
        _write(file_path(public_id, prepared.media_type), prepared.content)
    except OSError:
        remove(public_id, prepared.media_type)
        raise


def remove(public_id: str, media_type: MediaType) -> None:
    """Remove what :func:`keep` wrote."""
    for path in (file_path(public_id, media_type), thumbnail_path(public_id)):
        path.unlink(missing_ok=True)


def sha256_of(path: Path) -> str:
    """Return the SHA-256 of a file, empty when it is missing."""
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except FileNotFoundError:
        return ""


def stored_before(moment: float) -> Iterator[tuple[str, Path]]:
    """Yield the public name and place of every file last written before a moment [s since 1970]."""
    for path in sorted(folder().glob("*/*")):
        # A file of a request that is under way may vanish meanwhile.
        with contextlib.suppress(FileNotFoundError):
            if path.is_file() and path.stat().st_mtime < moment:
                yield path.name.partition(".")[0], path


def _write(path: Path, content: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    temporary = path.with_name(f"{path.name}.{secrets.token_hex(4)}.part")
    try:
        handle = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        temporary.rename(path)
    except OSError:
        temporary.unlink(missing_ok=True)
        raise
    _flush_folder(path.parent)


def _flush_folder(place: Path) -> None:
    """Let the new name survive a power cut, too."""
    handle = os.open(place, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
