"""Typesetting of a document as PDF/A-2a, from data only: nothing a person typed is ever read as markup."""

from __future__ import annotations

import json
import logging
from collections.abc import Callable
from dataclasses import asdict
from datetime import datetime
from functools import cache
from pathlib import Path
from typing import Any, Final, Literal

import typst
from django.conf import settings

from shopcool.core.documents.content import Document
from shopcool.core.documents.fonts import FOLDERS, printable

FOLDER = settings.BASE_DIR / "templates" / "reports"
TEMPLATE = FOLDER / "record.typ"
#: Archival and accessible: fonts embedded, text readable by machines, structure tagged (ISO 19005-2).
STANDARD: Final = "a-2a"
Standard = Literal["a-2a"]

log = logging.getLogger(__name__)


class NotTypeset(Exception):
    """The document could not be set; the log says why."""


def typeset(document: Document, *, made_at: datetime) -> bytes:
    """Return the PDF of a document, made at a moment; raises NotTypeset.

    Characters that can't be printed are shown by their codes. Should even so a combination of characters
    defeat the fonts, everything beyond the text font is shown that way, rather than no record at all.
    """
    return typeset_data(TEMPLATE, asdict(document), made_at=made_at, standard=STANDARD)


def typeset_data(template: Path, data: Any, *, made_at: datetime, standard: Standard | None = None) -> bytes:
    """Return the PDF that a template makes of plain data; raises NotTypeset."""
    try:
        return _compile(template, _every_text(data, printable), made_at, standard)
    except typst.TypstError:
        log.warning("A document could not be set in all its scripts.", exc_info=True)
    try:
        latin = _every_text(data, lambda text: printable(text, latin_only=True))
        return _compile(template, latin, made_at, standard)
    except typst.TypstError as error:
        raise NotTypeset(str(error)) from error


def _compile(template: Path, data: Any, made_at: datetime, standard: Standard | None) -> bytes:
    pdf = typst.compile(
        template,
        root=FOLDER,
        font_paths=_fonts(),
        sys_inputs={"document": json.dumps(data, ensure_ascii=False)},
        pdf_standards=standard,
        timestamp=int(made_at.timestamp()),
    )
    return bytes(pdf)


def _every_text(value: Any, change: Callable[[str], str]) -> Any:
    if isinstance(value, str):
        return change(value)
    if isinstance(value, dict):
        return {key: _every_text(item, change) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_every_text(item, change) for item in value]
    return value


@cache
def _fonts() -> typst.Fonts:
    """Return the fonts of a process, none of the machine's: a record looks the same everywhere."""
    return typst.Fonts(include_system_fonts=False, font_paths=[str(folder) for folder in FOLDERS])
