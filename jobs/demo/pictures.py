"""Photos and a certificate of the invented workshop, drawn by code."""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO

from PIL import Image, ImageDraw, ImageFilter, ImageFont

SIZE = (1600, 1200)
METAL, RUBBER, PAPER, INK, OIL = "#4b5358", "#23272a", "#ece6d2", "#1f2326", "#d9b45b"


def label_photo(lines: Sequence[str]) -> bytes:
    """Return a label on painted metal, a little askew as by a hand-held tablet."""
    sheet = Image.new("RGBA", (1180, 640), PAPER)
    draw = ImageDraw.Draw(sheet)
    draw.rectangle((18, 18, 1161, 621), outline=INK, width=6)
    for number, line in enumerate(lines):
        draw.text((60, 60 + 112 * number), line, INK, font=ImageFont.load_default(76 if number else 96))
    photo = _ground(METAL)
    turned = sheet.rotate(3.5, expand=True, resample=Image.Resampling.BICUBIC)
    photo.paste(turned, (190, 240), turned)
    return _taken(photo)


def hose_photo() -> bytes:
    """Return a hose with a worn place in its jacket."""
    photo = _ground("#8c7a62")
    draw = ImageDraw.Draw(photo)
    for width, colour in ((190, RUBBER), (120, "#2e3337"), (26, "#4d555a")):
        draw.line([(-60, 980), (420, 700), (980, 640), (1700, 260)], colour, width, joint="curve")
    for number in range(9):
        x, y = 640 + 26 * number, 690 - 4 * number
        draw.line([(x, y - 46), (x + 34, y + 40)], "#b9a27c" if number % 2 else "#71644f", 11)
    draw.ellipse((560, 520, 960, 860), outline="#e9c43f", width=12)
    return _taken(photo)


def glass_photo() -> bytes:
    """Return a sight glass with clear oil and a few bubbles."""
    photo = _ground(METAL)
    draw = ImageDraw.Draw(photo)
    for inset, colour in ((0, "#8d9499"), (50, "#2c3134"), (90, OIL)):
        draw.ellipse((350 + inset, 150 + inset, 1250 - inset, 1050 - inset), fill=colour)
    for x, y, size in ((640, 520, 46), (760, 690, 30), (900, 470, 22), (850, 760, 38), (700, 620, 16)):
        draw.ellipse((x, y, x + size, y + size), fill="#f1d999", outline="#b48c3a", width=4)
    return _taken(photo)


def certificate(title: str, lines: Sequence[str]) -> bytes:
    """Return a page as a test house would send it (PDF)."""
    page = Image.new("RGB", (1240, 1754), "white")
    draw = ImageDraw.Draw(page)
    draw.rectangle((90, 90, 1149, 1663), outline=INK, width=4)
    draw.text((150, 170), title, INK, font=ImageFont.load_default(64))
    draw.line((150, 270, 1089, 270), INK, 3)
    for number, line in enumerate(lines):
        draw.text((150, 330 + 70 * number), line, INK, font=ImageFont.load_default(38))
    file = BytesIO()
    page.save(file, "PDF", resolution=150)
    return file.getvalue()


def _ground(colour: str) -> Image.Image:
    """Return a surface that is lit from above."""
    light = Image.linear_gradient("L").rotate(180).resize(SIZE)
    dark = Image.new("RGB", SIZE, "#16191b")
    return Image.composite(Image.new("RGB", SIZE, colour), dark, light.point(lambda level: 110 + level // 2))


def _taken(photo: Image.Image) -> bytes:
    """Return a photo as a camera stores it, a little soft."""
    file = BytesIO()
    photo.filter(ImageFilter.GaussianBlur(1.4)).save(file, "JPEG", quality=90)
    return file.getvalue()
