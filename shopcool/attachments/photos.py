"""Photos: opened, turned upright, bounded and drawn anew, so that nothing but the picture itself is kept.

What a camera writes beside the picture (place, time, owner, serial number, a second picture) stays behind,
and so does whatever else somebody hid in the file.
"""

from __future__ import annotations

import re
from io import BytesIO

from django.utils.translation import gettext as _
from PIL import Image, ImageCms, ImageOps

from shopcool.attachments.errors import FileRefused
from shopcool.attachments.limits import LONG_EDGE, THUMBNAIL_EDGE, most_pixels
from shopcool.attachments.media import MediaType
from shopcool.attachments.storage import Prepared

# Our own limit is checked against the header, before a pixel is read.
Image.MAX_IMAGE_PIXELS = None

FORMATS = {MediaType.JPEG: "JPEG", MediaType.PNG: "PNG", MediaType.WEBP: "WEBP"}
OPTIONS = {
    MediaType.JPEG: {"quality": 88, "optimize": True},
    MediaType.PNG: {},
    MediaType.WEBP: {"quality": 88},
}
#: A picture that is a web page or a program as well is made to be mistaken for one. Only words too long to
#: turn up by chance in the packed pixels of a large photo ("<svg" would, in one of fifty) are looked for.
_PROGRAM = re.compile(rb"<(?:script|iframe|!doctype|\?php )", re.IGNORECASE)


def photo_prepare(content: bytes, media_type: MediaType) -> Prepared:
    """Return a picture drawn anew, at most ``LONG_EDGE`` pixels long, with its thumbnail.

    Raises FileRefused when it can't be read to its end, is larger than the limit, moves, or hides a program.
    """
    if _PROGRAM.search(content):
        raise FileRefused(_("It holds the text of a web page or a program beside the picture."))
    try:
        with Image.open(BytesIO(content), formats=[FORMATS[media_type]]) as opened:
            _require_bounded(opened)
            picture = _redrawn(opened, media_type)
    except FileRefused:
        raise
    # A decoder that is fed with anything may fail in any way; each means that there is no picture.
    except Exception as error:
        raise FileRefused(_("The picture is damaged or incomplete. Take it again.")) from error
    saved = BytesIO()
    picture.save(saved, FORMATS[media_type], **OPTIONS[media_type])
    width, height = picture.size
    return Prepared(media_type, saved.getvalue(), thumbnail_of(picture), width=width, height=height)


def thumbnail_of(picture: Image.Image) -> bytes:
    """Return a small JPEG of a picture, on white where it is transparent."""
    small = picture.copy()
    small.thumbnail((THUMBNAIL_EDGE, THUMBNAIL_EDGE))
    if small.mode == "RGBA":
        sheet = Image.new("RGBA", small.size, "white")
        small = Image.alpha_composite(sheet, small).convert("RGB")
    saved = BytesIO()
    small.save(saved, "JPEG", quality=80)
    return saved.getvalue()


def _require_bounded(opened: Image.Image) -> None:
    width, height = opened.size
    limit = most_pixels()
    if width * height > limit:
        words = {"pixels": f"{width} × {height}", "limit": round(limit / 1e6)}
        raise FileRefused(
            _("The picture has %(pixels)s pixels; at most %(limit)d million are taken.") % words
        )
    # Some cameras store a second picture behind the first one (MPO); the first one is the photo.
    if opened.format != "MPO" and getattr(opened, "is_animated", False):
        raise FileRefused(_("It is a moving picture. Attach a single one."))


def _redrawn(opened: Image.Image, media_type: MediaType) -> Image.Image:
    """Return a new picture with the pixels of the opened one and nothing else of it."""
    profile = opened.info.get("icc_profile")
    # A JPEG is read no finer than it will be kept.
    opened.draft(None, (LONG_EDGE, LONG_EDGE))
    opened.thumbnail((LONG_EDGE, LONG_EDGE), Image.Resampling.LANCZOS)
    upright = _in_srgb(ImageOps.exif_transpose(opened), profile)
    transparent = upright.has_transparency_data and media_type is not MediaType.JPEG
    drawn = upright.convert("RGBA" if transparent else "RGB")
    new = Image.new(drawn.mode, drawn.size)
    new.paste(drawn)
    return new


def _in_srgb(picture: Image.Image, profile: bytes | None) -> Image.Image:
    """Return the picture in the colours that every screen takes for granted (IEC 61966-2-1)."""
    if not profile or picture.mode not in {"RGB", "RGBA", "CMYK", "L"}:
        return picture
    try:
        source = ImageCms.ImageCmsProfile(BytesIO(profile))
        mode = "RGBA" if picture.mode == "RGBA" else "RGB"
        changed = ImageCms.profileToProfile(picture, source, ImageCms.createProfile("sRGB"), outputMode=mode)
    except (ImageCms.PyCMSError, OSError):
        # A profile that nobody can read says nothing about the colours.
        return picture
    return changed or picture
