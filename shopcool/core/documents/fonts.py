"""The fonts of printed records, all from wheels, and what they can show."""

from __future__ import annotations

import unicodedata
from functools import cache
from pathlib import Path

import manimgx_fonts
import manimgx_fonts_cjk

TEXT_FONTS = Path(manimgx_fonts.__file__).parent
EAST_ASIAN_FONTS = Path(manimgx_fonts_cjk.__file__).parent
FOLDERS = (TEXT_FONTS, EAST_ASIAN_FONTS)

#: The collection holds five regional faces with the same characters; this is the one the records use.
SIMPLIFIED_CHINESE = 2
#: They shape their neighbours and have no form of their own: joiners, variation selectors, direction marks.
_SHAPING = {0x00AD, *range(0x200B, 0x2010), *range(0xFE00, 0xFE10), *range(0xE0020, 0xE0080)}


def printable(text: str, *, latin_only: bool = False) -> str:
    """Return a text in which every character that can't be printed is replaced by its code, as ``[U+E000]``.

    That holds for controls, private characters, characters that no font here has, marks on a letter of
    another font, and signs that turn the direction of the text around them, since they could make it read as
    something else. With ``latin_only`` only characters of the text font itself stay.
    """
    shown, base = [], " "
    for character in text:
        is_mark = unicodedata.category(character).startswith("M")
        foreign_mark = is_mark and _in_text_font(base) and not _in_text_font(character)
        if character == "\t":
            shown.append(" ")
        elif _is_shown(character, latin_only) and (not foreign_mark or ord(character) in _SHAPING):
            shown.append(character)
        else:
            shown.append(f"[U+{ord(character):04X}]")
        base = base if is_mark else character
    return "".join(shown)


def _is_shown(character: str, latin_only: bool) -> bool:
    if character == "\n" or _in_text_font(character):
        return True
    if latin_only:
        return False
    return ord(character) in _SHAPING or (_is_text(character) and ord(character) in _all_characters())


def _in_text_font(character: str) -> bool:
    return ord(character) in _text_characters()


def _is_text(character: str) -> bool:
    return unicodedata.category(character) not in {"Cc", "Cf", "Cn", "Co", "Cs"}


@cache
def _text_characters() -> frozenset[int]:
    """Return what the text font holds, read once in a process."""
    return frozenset(code for code in _characters(TEXT_FONTS / "NotoSans[wght].ttf") if _is_text(chr(code)))


@cache
def _all_characters() -> frozenset[int]:
    """Return what any of the fonts holds; the large ones are opened only when a text needs them."""
    found: set[int] = set()
    for path in sorted(TEXT_FONTS.glob("*.ttf")):
        found |= _characters(path)
    for path in sorted(EAST_ASIAN_FONTS.glob("*.ttc")):
        found |= _characters(path, SIMPLIFIED_CHINESE)
    return frozenset(found)


def _characters(path: Path, face: int = -1) -> set[int]:
    # Half of what a page's process would otherwise import at its start, and only a worker needs it.
    from fontTools.ttLib import TTFont

    with TTFont(path, fontNumber=face, lazy=True) as font:
        return set(font.getBestCmap())
