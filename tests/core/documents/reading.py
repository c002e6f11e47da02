"""Read a PDF back with a library that had no part in writing it (pypdf)."""

from __future__ import annotations

import re
from collections.abc import Iterator
from io import BytesIO
from typing import Any

from pypdf import PdfReader
from pypdf.generic import ContentStream

#: Put between the letters of words that may break anywhere.
BREAK = "\u200b"


def text_of(pdf: bytes) -> str:
    """Return the words of a PDF in their order, whatever lines they stand on."""
    pages = " ".join(page.extract_text() for page in PdfReader(BytesIO(pdf)).pages)
    return " ".join(pages.replace(BREAK, "").split())


def metadata_of(pdf: bytes) -> str:
    """Return the XMP packet of a PDF."""
    packet = PdfReader(BytesIO(pdf)).trailer["/Root"]["/Metadata"]
    return packet.get_object().get_data().decode()


def figures_of(pdf: bytes) -> list[str]:
    """Return what each figure says to those who can't see it (ISO 32000-1, 14.9.3), in reading order."""
    return list(_figures(PdfReader(BytesIO(pdf)).trailer["/Root"]["/StructTreeRoot"]))


def _figures(node: Any) -> Iterator[str]:
    node = node.get_object()
    if isinstance(node, list):
        for child in node:
            yield from _figures(child)
    elif isinstance(node, dict):
        if node.get("/S") == "/Figure":
            yield str(node.get("/Alt", ""))
        yield from _figures(node["/K"]) if "/K" in node else ()


def fonts_of(pdf: bytes) -> dict[str, bool]:
    """Return the names of all fonts without their subset prefix, and whether each is embedded."""
    found = {}
    for page in PdfReader(BytesIO(pdf)).pages:
        for font in page["/Resources"]["/Font"].values():
            for child in font.get_object()["/DescendantFonts"]:
                described = child.get_object()["/FontDescriptor"].get_object()
                embedded = any(f"/FontFile{number}" in described for number in ("", "2", "3"))
                found[re.sub(r"^/[A-Z]{6}\+", "", described["/FontName"])] = embedded
    return found


def glyphs_of(pdf: bytes) -> Iterator[int]:
    """Return the number of every glyph drawn; 0 is the box of a missing one (ISO 32000-1, 9.7.6.3)."""
    reader = PdfReader(BytesIO(pdf))
    for page in reader.pages:
        for operands, operator in ContentStream(page.get_contents(), reader).operations:
            if operator in {b"Tj", b"TJ"}:
                for text in _strings(operands[0]):
                    yield from (int.from_bytes(text[at : at + 2]) for at in range(0, len(text), 2))


def _strings(operand: Any) -> Iterator[bytes]:
    for item in operand if isinstance(operand, list) else [operand]:
        if hasattr(item, "original_bytes"):
            yield item.original_bytes
        elif isinstance(item, bytes):
            yield bytes(item)
