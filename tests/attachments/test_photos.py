"""A photo is kept as a picture and nothing else; what is no sound picture is refused in a sentence."""

from __future__ import annotations

from io import BytesIO
from zlib import crc32

import pytest
from hypothesis import given
from hypothesis import settings as patience
from hypothesis import strategies as st
from PIL import Image, ImageCms
from pytest_django.fixtures import Settings

from shopcool.attachments.errors import FileRefused
from shopcool.attachments.media import MediaType
from shopcool.attachments.preparing import Upload, name_cleaned, prepare
from shopcool.attachments.storage import Prepared
from tests.attachments.files import photo, picture, saved, segments


def prepared(content: bytes) -> Prepared:
    return prepare(Upload("photo", content))


def opened(content: bytes) -> Image.Image:
    return Image.open(BytesIO(content))


class TestWhatIsKept:
    def test_of_a_photo_is_the_picture_alone(self) -> None:
        sent = photo()
        # Application segments and comments (ITU-T T.81, B.1.1.3): 0xE0 to 0xEF and 0xFE.
        beside = {marker for marker, _content in segments(sent)} & {*range(0xE0, 0xF0), 0xFE}
        assert beside == {0xE0, 0xE1, 0xFE}

        kept = prepared(sent)

        for content in (kept.content, kept.thumbnail):
            told = [
                (marker, text) for marker, text in segments(content) if marker in {*range(0xE0, 0xF0), 0xFE}
            ]
            assert [(marker, text[:4]) for marker, text in told] == [(0xE0, b"JFIF")]
            assert not any(word in content for word in (b"Exif", b"GPS", b"Harbour", b"Anna", b"xmp"))

    @pytest.mark.parametrize("kind", ["PNG", "WEBP"])
    def test_of_other_pictures_holds_nothing_that_was_written_beside_either(self, kind: str) -> None:
        exif = Image.Exif()
        exif[0x010F] = "Harbour Cameras"
        sent = saved(picture(), kind, exif=exif, xmp=b"<x:xmpmeta>Anna Berg</x:xmpmeta>")
        assert b"Harbour" in sent

        kept = prepared(sent)

        assert kept.media_type == MediaType(f"image/{kind.lower()}")
        assert not any(word in kept.content for word in (b"Harbour", b"Anna", b"EXIF", b"eXIf", b"XMP"))

    @pytest.mark.parametrize(
        ("orientation", "red_at"),
        # CIPA DC-008, orientation: 1 as stored, 3 upside down, 6 and 8 turned by a quarter.
        [(1, "left"), (3, "right"), (6, "top"), (8, "bottom")],
    )
    def test_stands_upright(self, orientation: int, red_at: str) -> None:
        kept = prepared(photo(orientation=orientation))

        shown = opened(kept.content).convert("RGB")
        width, height = shown.size
        assert (kept.width, kept.height) == (width, height) == ((64, 48) if orientation < 5 else (48, 64))
        points = {
            "left": (4, height // 2),
            "right": (width - 4, height // 2),
            "top": (width // 2, 4),
            "bottom": (width // 2, height - 4),
        }
        red, _green, blue = shown.getpixel(points[red_at])  # type: ignore[misc]
        assert red > 150 > blue

    def test_is_bounded_at_its_longer_edge(self) -> None:
        kept = prepared(photo(3600, 900))

        assert (kept.width, kept.height) == (2560, 640)
        assert opened(kept.thumbnail).size == (480, 120)

    def test_has_the_colours_of_every_screen(self) -> None:
        # The profile says that what is stored as red is meant as blue, and the other way round
        # (ICC.1:2022, 9.2: rXYZ and bXYZ are the colorants).
        usual = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
        swapped = usual.replace(b"rXYZ", b"----").replace(b"bXYZ", b"rXYZ").replace(b"----", b"bXYZ")

        kept = prepared(saved(picture(), icc_profile=swapped, quality=95))

        assert "icc_profile" not in opened(kept.content).info
        red, _green, blue = opened(kept.content).getpixel((4, 20))  # type: ignore[misc]
        assert blue > 150 > red

    def test_stays_transparent_where_a_drawing_was(self) -> None:
        drawing = Image.new("RGBA", (20, 20), (0, 0, 0, 0))

        kept = prepared(saved(drawing, "PNG"))

        assert opened(kept.content).mode == "RGBA"
        assert opened(kept.thumbnail).getpixel((5, 5)) == (255, 255, 255)

    def test_of_a_camera_with_two_pictures_in_one_file_is_the_first(self) -> None:
        sent = saved(picture(), "MPO", save_all=True, append_images=[picture(32, 32)])

        kept = prepared(sent)

        assert (kept.media_type, kept.width) == (MediaType.JPEG, 64)


class TestRefusal:
    @pytest.mark.parametrize(
        ("content", "sentence"),
        [
            (b"", "The file is empty"),
            (b"MZ\x90\x00 a program", "Only photos"),
            (b"GIF89a" + bytes(40), "Only photos"),
            (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "Only photos"),
            (b"\x00\x00\x00\x18ftypheic" + bytes(40), "Set the camera to JPEG"),
            (b"\x00\x00\x00\x18ftypavif" + bytes(40), "Set the camera to JPEG"),
            (photo()[:-200], "damaged or incomplete"),
            (photo()[:30], "damaged or incomplete"),
            (saved(picture(), "PNG")[:-60], "damaged or incomplete"),
            (photo() + b"<script>alert(1)</script>", "web page or a program"),
            (saved(picture(), comment=b"<?php system('x')"), "web page or a program"),
            (saved(picture(), "PNG") + b"<!DOCTYPE html>", "web page or a program"),
        ],
    )
    def test_says_why(self, content: bytes, sentence: str) -> None:
        with pytest.raises(FileRefused, match=sentence):
            prepared(content)

    @pytest.mark.parametrize("kind", ["PNG", "WEBP"])
    def test_of_a_moving_picture(self, kind: str) -> None:
        moving = saved(picture(), kind, save_all=True, append_images=[picture(64, 48).rotate(90)])

        with pytest.raises(FileRefused, match="moving picture"):
            prepared(moving)

    def test_of_a_picture_that_would_fill_the_memory(self) -> None:
        # A few hundred bytes that promise 30,000 × 30,000 pixels in their header (W3C PNG, 11.2.1).
        small = bytearray(saved(picture(8, 8), "PNG"))
        small[16:24] = (30_000).to_bytes(4, "big") * 2
        small[29:33] = crc32(bytes(small[12:29])).to_bytes(4, "big")

        with pytest.raises(FileRefused, match="30000 × 30000 pixels; at most 40 million"):
            prepared(bytes(small))

    def test_of_a_file_that_is_too_large(self, settings: Settings) -> None:
        settings.ATTACHMENT_MEGABYTES = 0.0005

        with pytest.raises(FileRefused, match=r"larger than 0\.0005 MB"):
            prepared(photo())

    @patience(max_examples=60, deadline=None)
    @given(
        kind=st.sampled_from(["JPEG", "PNG", "WEBP"]),
        places=st.lists(st.tuples(st.floats(0, 0.999), st.integers(0, 255)), min_size=1, max_size=12),
        kept=st.floats(0.2, 1.0),
    )
    def test_is_the_only_answer_to_mangled_bytes(
        self, kind: str, places: list[tuple[float, int]], kept: float
    ) -> None:
        content = bytearray(photo() if kind == "JPEG" else saved(picture(), kind))
        for place, value in places:
            content[int(place * len(content))] = value
        mangled = bytes(content[: max(int(kept * len(content)), 1)])
        try:
            found = prepared(mangled)
        except FileRefused:
            return
        assert opened(found.content).size == (found.width, found.height)


class TestName:
    @pytest.mark.parametrize(
        ("sent", "kept"),
        [
            ("IMG_0042.JPG", "IMG_0042.jpg"),
            ("C:\\Users\\anna\\hose.png", "hose.jpg"),
            ("../../etc/passwd", "passwd.jpg"),
            ("invoice.pdf.exe", "invoice.pdf.jpg"),
            ("gloves\u202egnp.exe", "glovesgnp.jpg"),
            ("a\x00b\n\tc.jpg", "abc.jpg"),
            ("Schläuche über Nacht.jpeg", "Schläuche über Nacht.jpg"),
            ("冷媒.jpg", "冷媒.jpg"),
            (".htaccess", "htaccess.jpg"),
            ("", "file.jpg"),
            ("…" + "x" * 400, "…" + "x" * 115 + ".jpg"),
        ],
    )
    def test_has_no_folder_nothing_invisible_and_the_ending_of_its_type(self, sent: str, kept: str) -> None:
        assert name_cleaned(sent, MediaType.JPEG) == kept
