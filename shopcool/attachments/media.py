"""The types of file that can be attached, told by what is inside and never by a name or a header."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _


class MediaType(models.TextChoices):
    """What a stored file is; the value is its name by IANA."""

    JPEG = "image/jpeg", _("photo (JPEG)")
    PNG = "image/png", _("picture (PNG)")
    WEBP = "image/webp", _("picture (WebP)")
    PDF = "application/pdf", _("PDF document")

    @property
    def suffix(self) -> str:
        """The ending of a file's name."""
        return {"JPEG": ".jpg", "PNG": ".png", "WEBP": ".webp", "PDF": ".pdf"}[self.name]

    @property
    def is_picture(self) -> bool:
        """Whether a browser shows it by itself."""
        return self is not MediaType.PDF


#: Brands of the ISO base media files (ISO/IEC 14496-12, ``ftyp``) that phones store pictures in.
_PHONE_BRANDS = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"mif1", b"msf1", b"avif", b"avis")


def sniff(content: bytes) -> MediaType | None:
    """Return the type that the first bytes of a file name, None for anything that can't be attached.

    Signatures: JPEG (ITU-T T.81, SOI), PNG (W3C PNG, 5.2), WebP (RFC 9649, 2.4), PDF (ISO 32000-2, 7.5.2).
    """
    if content.startswith(b"\xff\xd8\xff"):
        return MediaType.JPEG
    if content.startswith(b"\x89PNG\r\n\x1a\n"):
        return MediaType.PNG
    if content[:4] == b"RIFF" and content[8:12] == b"WEBP":
        return MediaType.WEBP
    return MediaType.PDF if content.startswith(b"%PDF-") else None


def is_phone_picture(content: bytes) -> bool:
    """Whether a file is a HEIC or AVIF picture, which phones make unless they are told to be compatible."""
    return content[4:8] == b"ftyp" and content[8:12] in _PHONE_BRANDS
