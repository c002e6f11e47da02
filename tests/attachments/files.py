"""Files as people send them: photos with everything a camera writes, PDFs, and what is none of these."""

from __future__ import annotations

from io import BytesIO
from struct import unpack
from typing import Any

from PIL import Image
from pypdf import PdfWriter

RED, BLUE = (200, 30, 30), (30, 30, 200)
#: Tags of Exif (CIPA DC-008, table 4 and 12): orientation, maker, and the directory of the place.
ORIENTATION, MAKE, PLACE = 0x0112, 0x010F, 0x8825


def picture(width: int = 64, height: int = 48) -> Image.Image:
    """Return a picture whose left half is red and whose right half is blue."""
    found = Image.new("RGB", (width, height), BLUE)
    found.paste(RED, (0, 0, width // 2, height))
    return found


def saved(image: Image.Image, kind: str = "JPEG", **options: Any) -> bytes:
    """Return a picture as a file."""
    file = BytesIO()
    image.save(file, kind, **options)
    return file.getvalue()


def photo(width: int = 64, height: int = 48, *, orientation: int = 1) -> bytes:
    """Return a JPEG as a phone makes it: turned, with its place, its maker and a comment."""
    exif = Image.Exif()
    exif[ORIENTATION], exif[MAKE] = orientation, "Harbour Cameras"
    place = exif.get_ifd(PLACE)
    place[1], place[2] = "N", (52.0, 22.0, 12.5)
    xmp = b"<x:xmpmeta>Anna Berg, Tern Quay</x:xmpmeta>"
    return saved(picture(width, height), exif=exif, xmp=xmp, comment=b"taken by Anna Berg", quality=95)


def paper(pages: int = 1, *, password: str = "") -> bytes:
    """Return a PDF of blank pages, locked when a password is given."""
    writer = PdfWriter()
    for _page in range(pages):
        writer.add_blank_page(width=595, height=842)
    if password:
        writer.encrypt(password, algorithm="RC4-128")
    file = BytesIO()
    writer.write(file)
    return file.getvalue()


def segments(jpeg: bytes) -> list[tuple[int, bytes]]:
    """Return marker and content of every segment before the picture data (ITU-T T.81, annex B)."""
    found, at = [], 2
    while jpeg[at + 1] != 0xDA:
        marker, length = unpack(">xBH", jpeg[at : at + 4])
        found.append((marker, jpeg[at + 4 : at + 2 + length]))
        at += 2 + length
    return found
