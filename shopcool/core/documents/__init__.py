"""Records on paper: what a document holds, which characters can be printed, and its typesetting as PDF/A."""

from shopcool.core.documents.content import (
    Document,
    Entry,
    Fact,
    Group,
    Head,
    Photo,
    Remark,
    Section,
    Stamp,
    Table,
    Tone,
)
from shopcool.core.documents.labels import Label, Sheet, Sign, typeset_labels
from shopcool.core.documents.typesetting import NotTypeset, typeset

__all__ = [
    "Document",
    "Entry",
    "Fact",
    "Group",
    "Head",
    "Label",
    "NotTypeset",
    "Photo",
    "Remark",
    "Section",
    "Sheet",
    "Sign",
    "Stamp",
    "Table",
    "Tone",
    "typeset",
    "typeset_labels",
]
