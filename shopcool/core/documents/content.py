"""What a printed record holds: plain, frozen values without a word of typography."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from shopcool.core.documents.figures import Figure


class Tone(StrEnum):
    """How a remark is meant; print shows it by shape and word, never by colour."""

    PLAIN = "plain"
    GOOD = "good"
    NOTE = "note"
    WARNING = "warning"
    REFUSAL = "refusal"


@dataclass(frozen=True)
class Fact:
    """A labelled value; ``note`` is what else is known about it, ``known`` false for data nobody has."""

    label: str
    value: str
    note: str = ""
    known: bool = True


@dataclass(frozen=True)
class Group:
    """Facts that belong together; a wide group takes the whole line."""

    title: str
    facts: tuple[Fact, ...]
    wide: bool = False


@dataclass(frozen=True)
class Remark:
    """A sentence with its tone in a word; ``details`` stand beneath it: limit, fix, source."""

    tone: Tone
    word: str
    sentence: str
    details: tuple[str, ...] = ()


@dataclass(frozen=True)
class Stamp:
    """When something happened and who was it; ``note`` says that it was entered later."""

    clock: str
    day: str
    who: str
    note: str = ""


@dataclass(frozen=True)
class Entry:
    """One event of a record. ``struck`` marks what a later entry corrects, ``proof`` its place in a chain."""

    stamp: Stamp
    title: str
    tone: Tone = Tone.PLAIN
    word: str = ""
    text: str = ""
    facts: tuple[Fact, ...] = ()
    remarks: tuple[Remark, ...] = ()
    figures: tuple[Figure, ...] = ()
    proof: str = ""
    struck: bool = False


@dataclass(frozen=True)
class Table:
    """Rows under column headings; ``widths`` are shares of the page."""

    columns: tuple[str, ...]
    widths: tuple[int, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Photo:
    """A small photo (JPEG in base64, its size in pixels); ``told`` says what it shows, printed below."""

    jpeg: str
    width: int
    height: int
    told: str


@dataclass(frozen=True)
class Section:
    """One question that the record answers; one that is handed over by itself begins a sheet of its own."""

    title: str
    text: str = ""
    groups: tuple[Group, ...] = ()
    tables: tuple[Table, ...] = ()
    figures: tuple[Figure, ...] = ()
    remarks: tuple[Remark, ...] = ()
    entries: tuple[Entry, ...] = ()
    photos: tuple[Photo, ...] = ()
    own_sheet: bool = False


@dataclass(frozen=True)
class Head:
    """The beginning of the first page, and what every page repeats."""

    workshop: str
    address: tuple[str, ...]
    kind: str
    number: str
    name: str
    name_note: str
    state: str
    running: str
    made: str


@dataclass(frozen=True)
class Document:
    """A record ready to be typeset on a named paper; ``page_of`` holds ``{page}`` and ``{pages}``."""

    language: str
    paper: str
    title: str
    head: Head
    alerts: tuple[Entry, ...]
    sections: tuple[Section, ...]
    page_of: str
