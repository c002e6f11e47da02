"""What a person reads on a page."""

from __future__ import annotations

import re
from html import unescape
from typing import Any


def words_of(response: Any) -> str:
    """Return the text of a page without its tags, in one line."""
    html = re.sub(r'<span class="nowrap">(.*?)</span>', r"\1", response.content.decode())
    text = re.sub(r"<(script|style|title)[^>]*>.*?</\1>|<[^>]+>", " ", html, flags=re.S)
    return re.sub(r"\s+", " ", unescape(text))


def between(text: str, start: str, end: str) -> str:
    """Return the part of a text after ``start`` and before the next ``end``."""
    return text.split(start, 1)[1].split(end, 1)[0]
