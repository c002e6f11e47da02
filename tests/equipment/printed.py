"""Read printed labels back with libraries that had no part in making them: pypdfium2 and ZXing-C++."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import pypdfium2
import zxingcpp
from PIL import Image

from shopcool.core.documents import Sheet

MM = 72 / 25.4


@dataclass(frozen=True)
class Letter:
    """One printed letter with the edges of its box [mm], from the upper left corner of the page."""

    sign: str
    left: float
    top: float
    right: float
    bottom: float


def pages_of(pdf: bytes, dpi: int) -> list[Image.Image]:
    """Return every page as a picture."""
    document = pypdfium2.PdfDocument(pdf)
    pictures = [page.render(scale=dpi / 72).to_pil().convert("RGB") for page in document]
    document.close()
    return pictures


def codes_on(picture: Image.Image) -> set[str]:
    """Return what the QR codes of a picture say (ISO/IEC 18004, read by ZXing-C++)."""
    return {code.text for code in zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormat.QRCode)}


def letters_of(pdf: bytes) -> list[list[Letter]]:
    """Return the letters of each page; the joints at which long words may break are left out."""
    document = pypdfium2.PdfDocument(pdf)
    found = [list(_letters(page)) for page in document]
    document.close()
    return found


def _letters(page: pypdfium2.PdfPage) -> Iterator[Letter]:
    text, height = page.get_textpage(), page.get_height()
    signs = text.get_text_range()
    for index in range(text.count_chars()):
        sign = signs[index] if index < len(signs) else ""
        if not sign.strip() or sign in {"\u200b", "\ufffe"}:
            continue
        left, bottom, right, top = text.get_charbox(index)
        yield Letter(sign, left / MM, (height - top) / MM, right / MM, (height - bottom) / MM)


def place_of(sheet: Sheet, letter: Letter) -> int | None:
    """Return on which label of its page a letter stands, counted from 1; None beside every label."""
    block_width = sheet.columns * sheet.width + (sheet.columns - 1) * sheet.gap
    left = letter.left - (sheet.paper_width - block_width) / 2
    top = letter.top - (sheet.paper_height - sheet.rows * sheet.height) / 2
    column, row = int(left // (sheet.width + sheet.gap)), int(top // sheet.height)
    right_end = left + letter.right - letter.left - column * (sheet.width + sheet.gap)
    bottom_end = top + letter.bottom - letter.top - row * sheet.height
    inside = 0 <= column < sheet.columns and 0 <= row < sheet.rows
    inside = inside and right_end <= sheet.width and bottom_end <= sheet.height
    return row * sheet.columns + column + 1 if inside else None
