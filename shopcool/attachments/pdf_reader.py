"""Reads a PDF from standard input: answers a line of JSON and, if it could be read, page one as JPEG.

Run as a process of its own with bounded memory and time: whatever a document does to its reader, it does
it to nobody else. It imports nothing of Shopcool.
"""

from __future__ import annotations

import contextlib
import json
import resource
import sys
from io import BytesIO

import pypdfium2

MOST_MEMORY = 1_500_000_000
MOST_SECONDS = 10


def read(content: bytes, edge: int) -> tuple[dict[str, object], bytes]:
    """Return what was found, and the first page drawn with its longer edge of so many pixels."""
    try:
        document = pypdfium2.PdfDocument(content)
    except pypdfium2.PdfiumError as error:
        locked = "password" in str(error).lower()
        return {"refused": "locked" if locked else "damaged"}, b""
    pages = len(document)
    if not pages:
        return {"refused": "damaged"}, b""
    page = document[0]
    longer = max(page.get_size())
    if longer <= 0:
        return {"refused": "damaged"}, b""
    drawn = page.render(scale=edge / longer).to_pil().convert("RGB")
    saved = BytesIO()
    drawn.save(saved, "JPEG", quality=80)
    return {"pages": pages}, saved.getvalue()


def main() -> None:
    """Answer on standard output."""
    # Not every system knows both limits; the time limit of the caller holds everywhere.
    with contextlib.suppress(ValueError, OSError):
        resource.setrlimit(resource.RLIMIT_CPU, (MOST_SECONDS, MOST_SECONDS))
        resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
    found, picture = read(sys.stdin.buffer.read(), int(sys.argv[1]))
    sys.stdout.buffer.write(json.dumps(found).encode() + b"\n" + picture)


if __name__ == "__main__":
    main()
